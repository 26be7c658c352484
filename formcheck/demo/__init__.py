"""An invented practice over eight weeks, from made results: so that every page has something to show."""
