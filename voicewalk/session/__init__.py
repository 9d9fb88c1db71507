"""One session of a walk: the loop that joins all other rooms, and what surrounds it."""
