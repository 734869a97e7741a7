"""elbowroom: throwing mechanics from phone video, with stated uncertainty."""

__version__ = "0.1.0"
