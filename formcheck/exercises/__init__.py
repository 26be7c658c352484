"""The exercise files: their form, the library, and what can be wrong with them."""
