"""Looks at every part of program, machine and holding before it is needed."""
