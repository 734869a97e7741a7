"""The public programming face: the same use cases as the pages, as JSON over HTTP."""
