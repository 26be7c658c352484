"""From landmarks to angles and distances, each with its uncertainty."""
