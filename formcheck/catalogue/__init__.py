"""The names that all rooms share: measures, views, codes of what there is to say. A leaf."""
