"""How an exercise should be filmed, and whether a clip is filmed well enough."""
