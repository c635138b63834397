"""Large letters made of half blocks, so that a name can be read from across the pen."""

from __future__ import annotations

import unicodedata

_ROWS = 5
_GLYPHS = """
A .##. #..# #### #..# #..#
B ###. #..# ###. #..# ###.
C .### #... #... #... .###
D ###. #..# #..# #..# ###.
E #### #... ###. #... ####
F #### #... ###. #... #...
G .### #... #.## #..# .###
H #..# #..# #### #..# #..#
I ### .#. .#. .#. ###
J ..## ...# ...# #..# .##.
K #..# #.#. ##.. #.#. #..#
L #... #... #... #... ####
M #...# ##.## #.#.# #...# #...#
N #...# ##..# #.#.# #..## #...#
O .##. #..# #..# #..# .##.
P ###. #..# ###. #... #...
Q .##. #..# #..# #.#. .#.#
R ###. #..# ###. #.#. #..#
S .### #... .##. ...# ###.
T ##### ..#.. ..#.. ..#.. ..#..
U #..# #..# #..# #..# .##.
V #...# #...# #...# .#.#. ..#..
W #...# #...# #.#.# ##.## #...#
X #...# .#.#. ..#.. .#.#. #...#
Y #...# .#.#. ..#.. ..#.. ..#..
Z #### ...# .##. #... ####
0 .##. #..# #..# #..# .##.
1 .#. ##. .#. .#. ###
2 ###. ...# .##. #... ####
3 ###. ...# .##. ...# ###.
4 #..# #..# #### ...# ...#
5 #### #... ###. ...# ###.
6 .##. #... ###. #..# .##.
7 #### ...# ..#. .#.. .#..
8 .##. #..# .##. #..# .##.
9 .##. #..# .### ...# .##.
- ... ... ### ... ...
' # # . . .
. . . . . #
? ###. ...# .##. .... .#..
» #.#.. .#.#. ..#.# .#.#. #.#..
✓ ....# ...#. #.#.. .#... .....
▲ ..#.. ..#.. .###. .###. #####
○ ..... ..... ..#.. ..... .....
"""

_FONT = {line[0]: tuple(line[2:].split()) for line in _GLYPHS.strip().splitlines()}
_FONT[" "] = ("..",) * _ROWS


def large(text: str, width: int, height: int) -> tuple[str, ...]:
    """A text in the largest letters that fit.

    Args:
        text: letters without their accents, digits and a few signs can be drawn.
        width: columns at most.
        height: rows at most.

    Returns:
        Lines, each as wide as the drawing; none if it does not fit, or holds a letter that cannot be drawn.
    """
    plain = "".join(ch for ch in unicodedata.normalize("NFD", text.strip().upper()) if not unicodedata.combining(ch))
    if not plain or any(ch not in _FONT for ch in plain):
        return ()
    rows = [".".join(_FONT[ch][row] for ch in plain) for row in range(_ROWS)]
    across = width // len(rows[0])
    if not across:
        return ()
    # A point is as high as it is wide where two of them share one cell; letters twice as tall read well too.
    down = max((n for n in range(1, 2 * across + 1) if _cells(n) <= height), default=0)
    if not down:
        return ()
    across = min(across, down)
    dots = [row for row in rows for _ in range(down)]
    dots += ["." * len(rows[0])] * (len(dots) % 2)
    return tuple(_line(dots[n], dots[n + 1], across) for n in range(0, len(dots), 2))


def _cells(down: int) -> int:
    return (_ROWS * down + 1) // 2


def _line(upper: str, lower: str, across: int) -> str:
    blocks = {"##": "█", "#.": "▀", ".#": "▄", "..": " "}
    return "".join(blocks[pair] * across for pair in map("".join, zip(upper, lower, strict=True)))
