"""The reconstruction: smooth curves of the joint centres from all views at once."""
