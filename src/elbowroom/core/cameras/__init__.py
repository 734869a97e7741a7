"""Cameras: lens, place, and what is known about their errors."""
