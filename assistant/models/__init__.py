"""Speech models that are not part of the program: brought in once, checked, and kept in the data folder."""
