"""Feeds what a fuzzer makes up, led by coverage, to the readers of files that anybody may send. Run by hand.

    pip install atheris                                   # Linux, macOS
    python tests/fuzz/readers.py grammar CORPUS -max_total_time=600
    python tests/fuzz/readers.py table CORPUS -max_total_time=600

CORPUS is a folder that keeps what reached new code; it is made, with a first file. A crash is written
into the current folder; give that file in place of CORPUS to see it again. What a reader refuses with an
`AssistantError` is no crash; any other exception is one, and more than 20 seconds for one input.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["assistant"]):
    from assistant.errors import AssistantError
    from assistant.grammar import Grammar
    from assistant.register.reading import animals_from_csv

ROOT = Path(__file__).parent.parent.parent
MOST_BYTES = 4000

SMALL = """#JSGF V1.0 UTF-8;
/** A small one with every construct. */
grammar own;
public <remark> = [<place>] (/2/ <finding> | /0.5/ "hard horn" {finding=hard horn}) <more>;
public <phrase> = <place> | <finding>;
<place> = (left | right) hind {place=left hind} | <NULL>;
<finding> = (crack | cracked)+ {finding=crack} | so* sore {finding=scald} // a remark
          | <VOID>;
<more> = and <finding> <more> | <NULL>;
"""
"""Files of the project are longer than what a fuzzer makes much of, and import each other."""


def grammar(data: bytes) -> None:
    """A keeper's own grammar file: all of it is read, and its first rules are made into a graph."""
    text = data.decode("utf-8", "replace")
    loaded = Grammar.load([("own.jsgf", text)])
    for rule in ("remark", "phrase"):
        loaded.graph(rule)
        loaded.readings(["left", "hind"], rule)


def table(data: bytes) -> None:
    """A register that is to be imported."""
    animals_from_csv(data, "herd.csv")


READERS: dict[str, tuple[Callable[[bytes], None], bytes]] = {
    "grammar": (grammar, SMALL.encode()),
    "table": (table, (ROOT / "demo_audio" / "register.csv").read_bytes()),
}


def main() -> None:
    """Fuzzes one reader."""
    if len(sys.argv) < 3 or sys.argv[1] not in READERS:
        raise SystemExit(__doc__)
    read, seed = READERS[sys.argv[1]]
    corpus = Path(sys.argv[2])  # or a crash, to see it again
    if not corpus.is_file():
        corpus.mkdir(parents=True, exist_ok=True)
        (corpus / "seed").write_bytes(seed)

    def tried(data: bytes) -> None:
        try:
            read(data)
        except AssistantError:
            return

    atheris.Setup([sys.argv[0], *sys.argv[2:], f"-max_len={MOST_BYTES}", "-timeout=20"], tried)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
