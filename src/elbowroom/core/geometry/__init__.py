"""Geometry that every stage may use."""
