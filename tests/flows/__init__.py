"""Long stories: a kit's whole way round."""
