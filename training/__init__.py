"""Trains the listener in letters. Developed here and never shipped: see README.md."""
