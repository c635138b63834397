"""What the keeper hears: short tones, and a voice."""
