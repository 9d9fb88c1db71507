"""Pages to be printed and kept: from plain data to PDF/A."""
