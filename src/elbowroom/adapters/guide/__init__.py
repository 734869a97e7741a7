"""The filming guide on one page."""
