"""Finding throws in a clip."""
