"""Offline voice and chat assistant for people who handle goats and sheep one at a time."""
