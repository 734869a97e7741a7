"""Reading the reference tables: tolerances and published bands."""
