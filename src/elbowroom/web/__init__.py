"""Pages: one file a page; they compute no numbers."""
