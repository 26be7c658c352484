"""A clip and what is wanted of it in, a checked result out: the rooms strung together."""
