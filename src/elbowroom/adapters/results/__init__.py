"""Results on disk: a folder that is there whole or not at all."""
