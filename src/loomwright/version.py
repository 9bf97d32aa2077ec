"""The program's version, by itself: the lowest rooms need it too."""

__version__ = "0.1.0"
