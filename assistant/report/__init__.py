"""What leaves the store for people to read."""
