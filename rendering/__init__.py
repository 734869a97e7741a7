"""Rendered throws of invented athletes with exact truth beside every clip (needs the extra `render`)."""
