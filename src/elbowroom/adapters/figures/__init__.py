"""Figures that the product draws: drills from the directions of their segments."""
