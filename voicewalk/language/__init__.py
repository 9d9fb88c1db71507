"""Words and meanings: numbers, units, vocabulary, the phrase graph and reading text by it."""
