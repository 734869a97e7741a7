"""Findings: measures held against tolerances, the order of work, and the report tree."""
