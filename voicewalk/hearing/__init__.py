"""Clip in, ranked meanings and an honest verdict out: two unlike listeners and a judge."""
