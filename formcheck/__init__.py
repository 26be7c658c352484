"""formcheck: measures recorded exercise clips and writes rep-by-rep feedback sheets."""

__version__ = "0.1.0"
