"""Plots of how something grows: both axes in powers of ten, as SVG that stays the same for the same figures."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextmanager
def drawn(out: Path, salt: str, columns: int = 1, size: tuple[float, float] = (9, 3.6)) -> Iterator[list[Any]]:
    """Axes to draw on; the file is there once the block ends.

    Args:
        out: the SVG file.
        salt: names of its parts are made from it, so that the same figures give the same file.
        columns: how many axes, side by side.
        size: of the whole, in inches.
    """
    import matplotlib as mpl  # extra "bench"

    mpl.use("svg")
    mpl.rcParams.update({"svg.hashsalt": salt, "svg.fonttype": "none"})
    from matplotlib import pyplot as plt

    fig, axes = plt.subplots(1, columns, figsize=size, layout="constrained", squeeze=False)
    yield list(axes[0])
    fig.savefig(out, metadata={"Date": None, "Creator": None})
    plt.close(fig)


def growing(axes: Any, **named: str) -> None:
    """Both axes in powers of ten, with a faint grid; `named` are labels as matplotlib takes them."""
    axes.set(xscale="log", yscale="log", **named)
    axes.grid(visible=True, alpha=0.3)
