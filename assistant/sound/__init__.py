"""Sound in and out: recordings, the parts of them that are speech, and noise for measuring."""
