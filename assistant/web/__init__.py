"""The screens in a browser of the local network: an edge of its own, on textual-serve."""
