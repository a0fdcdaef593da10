"""The pages of the bench."""
