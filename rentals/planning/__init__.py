"""Planning: calendar arithmetic, assignment and forecasts over plain values; no Django here."""
