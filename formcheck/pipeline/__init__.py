"""A clip and what is wanted of it in, a checked result out: the packages strung together."""
