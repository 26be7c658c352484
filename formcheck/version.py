"""The version of this formcheck."""

__version__ = "0.1.0"
