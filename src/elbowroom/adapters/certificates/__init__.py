"""The certificate under which pages are served to other machines of the same network."""
