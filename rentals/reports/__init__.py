"""What a report is made of: its scope, its table, its chart. Pure; knows no rows."""
