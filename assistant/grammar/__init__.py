"""Grammars: JSGF files compiled for the listeners (`Grammar.graph`) and for meaning (`Grammar.readings`)."""

from assistant.grammar.grammar import Fill, Grammar, Piece, Tag, TaggedReading

__all__ = ["Fill", "Grammar", "Piece", "Tag", "TaggedReading"]
