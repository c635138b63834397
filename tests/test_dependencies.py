"""The table of licences is complete, and says what the installed packages say of themselves."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TABLE = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8").partition("## Licences")[2]
ROWS = dict(re.findall(r"^\| ([\w.-]+) \| (?!licence|---)([\w.-]+) \|", TABLE, re.MULTILINE))
FAMILIES = {
    "MIT": r"\bMIT\b",
    "BSD": r"\bBSD\b",
    "Apache": r"\bApache\b",
    "LGPL": r"\bLGPL\b|Lesser General Public",
    "PSF": r"Python Software Foundation|\bPSF\b",
}


def asked_for() -> set[str]:
    """What is installed to run, or by an extra of users."""
    extras = (group for name, group in PROJECT["optional-dependencies"].items() if name != "test")
    lines = [*PROJECT["dependencies"], *(line for group in extras for line in group)]
    return {re.split(r"[^\w.-]", line)[0] for line in lines}


def test_the_table_has_every_package_and_no_other() -> None:
    assert set(ROWS) == asked_for()


@pytest.mark.parametrize(("package", "licence"), list(ROWS.items()))
def test_a_package_states_the_licence_of_the_table(package: str, licence: str) -> None:
    try:
        stated = metadata(package)
    except PackageNotFoundError:
        pytest.skip("an extra that is not installed here")
    classes = [line for line in stated.get_all("Classifier") or [] if line.startswith("License")]
    files = [stated.get("License-Expression") or "", (stated.get("License") or "")[:200], *classes]
    assert re.search(FAMILIES[licence], "\n".join(files)), files
