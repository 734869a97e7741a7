"""Papers: the family page and the clinical report as tagged PDF."""
