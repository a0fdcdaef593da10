"""Reading for the pages of the bench; nothing here changes a row."""
