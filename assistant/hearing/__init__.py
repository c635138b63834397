"""Listeners: each takes a sound for sentences of the grammar; together they come to a verdict."""
