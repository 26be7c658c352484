"""From a coach's own demonstration to an exercise file."""
