"""Reading for pages: joins, order and counts in one place, so that a view cannot forget them."""
