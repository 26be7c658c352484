"""Pose landmarks of one subject, from frames."""
