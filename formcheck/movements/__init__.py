"""From measures over time to repetitions, holds and circles."""
