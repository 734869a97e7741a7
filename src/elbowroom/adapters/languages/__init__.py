"""Catalogues of messages: the house's English said in another language."""
