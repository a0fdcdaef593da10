"""What each request and each task leaves behind: a line in the log, and a count."""
