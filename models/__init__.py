"""The nouns: record types, places, units, vocabulary, limits, and where they are kept."""
