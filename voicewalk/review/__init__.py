"""The lead's pages: what needs the lead first, one walk, one entry, and the lead's answers."""
