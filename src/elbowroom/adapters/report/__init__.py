"""Writing a screening report: HTML for people, JSON for programs."""
