"""The use cases, written against small Protocols."""
