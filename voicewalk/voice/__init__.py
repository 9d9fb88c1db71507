"""What the tool says: the wording of its messages and their synthesis."""
