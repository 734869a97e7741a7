"""Clocks of clips against one another."""
