"""The desk of a large provider."""
