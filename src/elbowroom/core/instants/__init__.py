"""The instants of a throw."""
