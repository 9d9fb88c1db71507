"""Sound in and out: sources, the end of speech, measurements, playback."""
