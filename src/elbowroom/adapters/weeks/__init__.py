"""Laying out weeks of throwing with a constraint solver."""
