"""The commands: each parses its words, calls the flow and prints. Data goes to stdout, talk to stderr."""
