"""Visit files: a small TOML that says who throws and which clip is which view."""
