"""Adapter: the workings of a screening as one file."""
