"""What practice finds out: which words are weak, and which others would be safer. Pure."""
