"""The names that all packages share: measures, views, codes of what there is to say. A leaf."""
