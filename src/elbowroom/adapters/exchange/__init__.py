"""Data for colleagues and studies in open formats, and motion from other laboratories."""
