"""Phone video files."""
