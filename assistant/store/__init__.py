"""The store: one SQLite file with all that was recorded, and a folder of sounds beside it."""
