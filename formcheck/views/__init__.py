"""Two cameras that filmed one set, joined by the subject's own landmarks."""
