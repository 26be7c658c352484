"""Batches: many clips checked safely, so that nothing is lost and nothing is done twice."""
