"""Colours that the colour-blind can tell apart, on dark and on light; every meaning has a mark and a word besides."""

from __future__ import annotations

from textual.theme import Theme

DARK = Theme(
    name="pen-dark",
    dark=True,
    primary="#56B4E9",
    secondary="#CC79A7",
    accent="#F0E442",
    warning="#E69F00",
    error="#F0803C",
    success="#2CC295",
    foreground="#F2F2EE",
    background="#101418",
    surface="#161C22",
    panel="#222B33",
    variables={"muted": "#9DA9B3", "input-cursor-background": "#F2F2EE", "footer-key-foreground": "#F0E442"},
)
LIGHT = Theme(
    name="pen-light",
    dark=False,
    primary="#005A8C",
    secondary="#8A2F63",
    accent="#5C4400",
    warning="#7A4B00",
    error="#9C3300",
    success="#00604A",
    foreground="#16181A",
    background="#FBFAF5",
    surface="#F3F1E9",
    panel="#E4E1D6",
    variables={"muted": "#55595C", "input-cursor-background": "#16181A", "footer-key-foreground": "#5C4400"},
)
"""Hues after the eight of Okabe & Ito, Color Universal Design, 2002 (rev. 2008); darker or lighter for contrast."""

_INK, _PAPER = "#FFFFFF", "#000000"
PLAIN = Theme(
    name="pen-plain",
    dark=True,
    primary=_INK,
    secondary=_INK,
    accent=_INK,
    warning=_INK,
    error=_INK,
    success=_INK,
    foreground=_INK,
    background=_PAPER,
    surface=_PAPER,
    panel="#303030",
    variables={"muted": "#C8C8C8", "footer-key-foreground": _INK},
)
"""No colour: what a mark means, the mark and its words say."""

THEMES = {"dark": DARK, "light": LIGHT, "plain": PLAIN}

SOUND, FOUND, DONE, UNSEEN, ASKING, KEPT, WITHDRAWN, SO_FAR, LET_GO = "✓", "▲", "»", "○", "?", "!", "×", "…", "–"
"""Marks: sound, something found, something done, not mentioned, a question, kept for review, withdrawn, not over, let
go."""

STYLE_OF = {
    SOUND: "$success",
    FOUND: "bold $error",
    DONE: "$primary",
    UNSEEN: "$muted",
    ASKING: "bold $warning",
    KEPT: "bold $secondary",
    WITHDRAWN: "$muted",
    SO_FAR: "$muted",
    LET_GO: "$muted",
}
"""Mark → style; colour only supports the mark."""
