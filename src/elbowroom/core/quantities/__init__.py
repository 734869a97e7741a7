"""Quantities that carry their uncertainty, and how it is combined and put into words."""
