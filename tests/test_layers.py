"""Arrows point inward only, modules stay small, and `--help` loads little.

Who may import whom stands in `pyproject.toml` as contracts of import-linter, which follows every import, also one
inside a function and one by way of other modules.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

ROOT = Path(__file__).parent.parent

MOST_LINES = 400
"""Of a module: what one can read in a quarter of an hour and keep in mind. Most have half of it or less."""


def test_every_contract_of_the_layers_is_kept(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture) -> None:
    monkeypatch.chdir(ROOT)
    assert lint_imports("pyproject.toml", no_cache=True) == 0, capsys.readouterr().out


BROKEN = """
[tool.importlinter]
root_package = "assistant"
include_external_packages = true

[[tool.importlinter.contracts]]
name = "What is not so"
type = "forbidden"
source_modules = ["assistant.{source}"]
forbidden_modules = ["{forbidden}"]
"""


@pytest.mark.parametrize(
    ("source", "forbidden"),
    [
        ("sound", "assistant.errors"),
        ("report", "assistant.values"),
        ("store", "sqlite_utils"),
        ("live.farm", "pocketsphinx"),
    ],
    ids=["direct", "of a package", "a library", "by way of others, in a function"],
)
def test_a_contract_that_is_broken_is_seen(source, forbidden, tmp_path, monkeypatch, capsys) -> None:
    """Else the test above might pass because nothing is looked at."""
    monkeypatch.chdir(ROOT)
    (tmp_path / "broken.toml").write_text(BROKEN.format(source=source, forbidden=forbidden), encoding="utf-8")
    assert lint_imports(str(tmp_path / "broken.toml"), no_cache=True) == 1
    assert "BROKEN" in capsys.readouterr().out


@pytest.mark.parametrize("file", sorted((ROOT / "assistant").rglob("*.py")), ids=lambda file: file.stem)
def test_a_module_can_be_read_in_one_go(file: Path) -> None:
    lines = len(file.read_text(encoding="utf-8").splitlines())
    assert lines <= MOST_LINES, "take out what is a subject of its own"


def test_help_loads_no_listener() -> None:
    """The command line answers `--help` without loading numpy or a recogniser, so that it is quick."""
    probe = "import sys, assistant.cli.main; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True).stdout.split()
    assert not {"numpy", "pocketsphinx", "sqlite_utils"} & set(loaded)
