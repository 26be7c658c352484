"""The record of clients over weeks: one SQLite file on this computer."""
