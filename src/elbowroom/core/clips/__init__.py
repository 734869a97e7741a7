"""Clips: what a phone's video file holds, and what its timing can carry."""
