"""What reports count: each grouped in the database, rows of a page in few queries."""
