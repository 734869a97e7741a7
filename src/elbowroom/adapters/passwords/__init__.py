"""Passwords of people, hashed."""
