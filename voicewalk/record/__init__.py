"""One walkaround, one file: kept, chained, checked, summed up and exported."""
