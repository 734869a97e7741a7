"""Worker processes."""
