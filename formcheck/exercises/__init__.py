"""The exercise files: their form and the library."""
