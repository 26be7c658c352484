"""Setting type in the shipped fonts: what they can write, and typst."""
