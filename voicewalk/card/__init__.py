"""What an inspection asks: the card, its loading and its checks."""
