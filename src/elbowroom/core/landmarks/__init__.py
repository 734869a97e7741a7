"""Landmarks: from what the detector gives to joint tracks."""
