"""Reference tables and the report schema, as data files with sources."""
