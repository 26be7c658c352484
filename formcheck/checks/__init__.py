"""From repetitions to findings, scores, dose and cues."""
