"""Recordings with known meanings, and how well they are heard and recorded."""
