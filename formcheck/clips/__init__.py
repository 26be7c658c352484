"""Decoding: a file in, upright frames with exact times out."""
