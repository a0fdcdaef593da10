"""What the bench's pages take in."""
