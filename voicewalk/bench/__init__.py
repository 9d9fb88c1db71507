"""Measuring the ears on named data, and learning the judge from it. Not part of a walk."""
