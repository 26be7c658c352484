"""How the sheets are set: HTML, PDF and charts."""
