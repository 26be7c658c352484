"""What the sheets say, in words: page models that know nothing of how they are set."""
