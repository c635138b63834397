"""Vosk models on disk, and one of them held to the sentences of a word graph.

A small ("dynamic graph") model has two graphs: `HCLr.fst` spells words in sounds, `Gr.fst` says which words follow each
other, and the two are joined while listening. Vosk's own runtime grammar replaces the second by pairs of words that
may follow each other, which lets through sentences that nobody says. Here the second graph is the word graph itself:
the model is loaded through a temporary folder that links to all of its files but that one.

Source:
    The layout of models as `src/model.cc` of the Vosk API 0.3.45 reads it.
"""

from __future__ import annotations

import shutil
from collections.abc import Collection, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import kaldifst

from assistant.errors import BadModel, ListenerMissing
from assistant.hearing.library_process import LibraryEnded, LibraryProcess, LibraryRefused
from assistant.hearing.vosk_worker import RATE_HZ

SOUNDS, WORDS, STATIC = "graph/HCLr.fst", "graph/Gr.fst", "graph/HCLG.fst"
NEEDED = (
    *("am/final.mdl", "conf/model.conf", "conf/mfcc.conf"),
    *(SOUNDS, WORDS, "graph/disambig_tid.int", "graph/phones/word_boundary.int"),
)
SPEAKER = tuple(
    f"ivector/{name}"
    for name in ("final.dubm", "final.ie", "final.mat", "global_cmvn.stats", "online_cmvn.conf", "splice.conf")
)
"""What adapts a model to the speaker: all of it or none."""
FST_MARK = (0x7EB2FDD6).to_bytes(4, "little")
"""The first bytes of every graph (OpenFst)."""
UNKNOWN = ("[unk]", "<unk>", "<UNK>")
"""What models call a word that they do not know."""
ENGLISH = ("the", "left", "right", "three", "foot")
SEARCH = {"beam": 13.0, "max-active": 5000, "lattice-beam": 4.0}
"""Wider than the models' own settings, which leave too few further readings; much wider is slow where nothing fits."""
FEATURES = {"dither": 0}
"""No chance noise, which is Kaldi's custom: the same sound gives the same hearing."""
MEND = "Copy or fetch it again."


def check_layout(folder: Path) -> None:
    """Whether the folder looks like a whole model that can be held to a grammar; quick, nothing is loaded.

    Raises:
        BadModel: it does not; the message says why.
    """
    if not folder.is_dir():
        raise BadModel(f"There is no speech model in {folder}. Add one with: assistant models add FOLDER_OR_ZIP")
    if (folder / STATIC).is_file() and not (folder / SOUNDS).is_file():
        raise BadModel(
            f"{folder} is a model with a fixed graph, which cannot be held to a grammar. Take a small one: its graph "
            f"folder has {Path(SOUNDS).name} and {Path(WORDS).name}."
        )
    if not any((folder / name).is_file() for name in NEEDED):
        raise BadModel(f"{folder} is no Vosk model: it has no {NEEDED[0]}. Name the folder that holds am, conf, graph.")
    needed = NEEDED + (SPEAKER if (folder / "ivector").is_dir() else ())
    for name in needed:
        if not (folder / name).is_file() or not (folder / name).stat().st_size:
            state = "is empty" if (folder / name).is_file() else "is missing"
            raise BadModel(f"The model in {folder} is not whole: {name} {state}. {MEND}")
    for name in (SOUNDS, WORDS):
        with (folder / name).open("rb") as file:
            if file.read(len(FST_MARK)) != FST_MARK:
                raise BadModel(f"The model in {folder} is damaged: {name} is no graph. {MEND}")


class VoskProcess:
    """A model at work in a process of its own; see `assistant.hearing.vosk_worker`.

    Args:
        folder: of the model.
        named: the folder that messages name.

    Raises:
        ListenerMissing: Vosk is not installed.
        BadModel: the model cannot be loaded.
    """

    def __init__(self, folder: Path, named: Path) -> None:
        self._named = named
        self._process = LibraryProcess(Path(__file__).with_name("vosk_worker.py"))
        self.close = self._process.close
        self.ask("load", str(folder))

    def ask(self, name: str, *arguments: Any) -> Any:
        """Calls a method of `vosk_worker.Worker`.

        Raises:
            ListenerMissing, BadModel: see above; BadModel also where the process ends at it.
        """
        try:
            return self._process.ask(name, *arguments)
        except LibraryEnded as error:
            raise BadModel(f"The model in {self._named} cannot be used: Vosk ended at it. {MEND}") from error
        except LibraryRefused as error:
            self.close()
            raise BadModel(f"The model in {self._named} cannot be loaded: {error}. {MEND}") from error
        except ImportError as error:
            self.close()
            raise ListenerMissing(f"Vosk cannot run here: {error}. Install it with: pip install vosk") from error


def word_numbers(folder: Path, words: Collection[str]) -> dict[str, int]:
    """The model's numbers of the words that it knows; the others are left out.

    The model is loaded and hears a moment of silence, so what returns is a model that works.

    Raises:
        ListenerMissing: Vosk is not installed.
        BadModel: the folder holds no whole model, or one that cannot be held to a grammar.
    """
    check_layout(folder)
    process = VoskProcess(folder, folder)
    try:
        process.ask("listen", 1)
        process.ask("feed", bytes(RATE_HZ))
        process.ask("finish")
        return dict(process.ask("numbers", tuple(words)))
    finally:
        process.close()


def knows_english(folder: Path) -> bool:
    """Whether the model is for English: it knows the commonest words of a remark.

    Raises:
        ListenerMissing, BadModel: as `word_numbers`.
    """
    return len(word_numbers(folder, ENGLISH)) == len(ENGLISH)


def held_to(folder: Path, sentences: kaldifst.StdVectorFst, numbers: Mapping[str, int]) -> VoskProcess:
    """The model with a graph of sentences in place of its own.

    Args:
        folder: of the model.
        sentences: accepts sequences of the model's word numbers, arcs sorted by them.
        numbers: word → number, of every word of the sentences.

    Returns:
        A process that has loaded it.

    Raises:
        ListenerMissing, BadModel: as `word_numbers`.
    """
    check_layout(folder)
    with TemporaryDirectory(prefix="vosk-") as place:
        linked = Path(place)
        (linked / "conf").mkdir()
        (linked / "graph").mkdir()
        for part in ("am", "ivector", SOUNDS, "graph/disambig_tid.int", "graph/phones"):
            if (folder / part).exists():
                _link(folder / part, linked / part)
        for name, settings in (("model.conf", SEARCH), ("mfcc.conf", FEATURES)):
            own = (folder / "conf" / name).read_text(encoding="utf-8")
            lines = [own, *(f"--{key}={value}" for key, value in settings.items()), ""]
            (linked / "conf" / name).write_text("\n".join(lines), encoding="utf-8")
        symbols = [f"{word} {number}\n" for word, number in numbers.items()]
        (linked / "graph/words.txt").write_text("".join(["<eps> 0\n", *symbols]), encoding="utf-8")
        sentences.write(str(linked / WORDS))
        return VoskProcess(linked, folder)


def _link(source: Path, target: Path) -> None:
    try:
        target.symlink_to(source.resolve(), target_is_directory=source.is_dir())
    except OSError:  # Windows lets only some users make links
        if source.is_dir():
            shutil.copytree(source, target)
        else:
            shutil.copyfile(source, target)
