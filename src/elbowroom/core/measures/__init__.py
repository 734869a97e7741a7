"""Measures: definitions and values."""
