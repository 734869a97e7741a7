"""The edges: files, models and programs outside the package."""
