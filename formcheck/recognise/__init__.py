"""From measures over time to the exercise that they most likely show."""
