"""Words for people: sentences, numbers, times and units, in a language and the formats of a place."""
