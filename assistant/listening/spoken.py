"""What is said on a holding, and who listens for it. A listening process needs no more of the program than this."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from assistant.errors import BadGrammar, BadRegister, ListenerMissing
from assistant.grammar import Fill, Grammar
from assistant.hearing.listener import Listener
from assistant.hearing.pronunciation import Lexicon, forget_letters
from assistant.interpreter import Interpreter
from assistant.listening.apart import Pause, asides_apart
from assistant.listening.ears import Ears
from assistant.listening.kept_grammar import KeptGrammar
from assistant.meaning.fills import animal_fills
from assistant.meaning.slot import tag_trouble
from assistant.register.mention import Matcher
from assistant.register.register import Register
from assistant.values import Sound, Verdict, WordGraph

LISTENERS = ("vosk", "pocketsphinx", "phonemes", "moonshine")
"""Every listener, the one that leads first; the second is the most widely available."""

MOST_NAMED = 5
"""Words that are named at the start of a session."""


def package_folder(name: str) -> Path:
    """A folder that comes with the program: "grammars" or "demo_audio", installed or in a checkout."""
    here = Path(__file__).parent.parent
    installed = here / f"_{name}"
    return installed if installed.is_dir() else here.parent / name


def read_bytes(file: Path, error: type[BadGrammar] | type[BadRegister]) -> bytes:
    """The content of a file; one that cannot be read is an `error` that names it."""
    try:
        return file.read_bytes()
    except OSError as cause:
        raise error(f"{file} cannot be read: {cause.strerror or cause}. Check the name and who may read it.") from cause


def grammar_sources(keepers: Path | None = None) -> list[tuple[str, str]]:
    """The grammar files of the trade, then the keeper's own.

    Raises:
        BadGrammar: a file is not UTF-8 text.
    """
    folders = [package_folder("grammars"), *([keepers] if keepers and keepers.is_dir() else [])]
    return [source_text(file) for folder in folders for file in sorted(folder.glob("*.jsgf"))]


def source_text(file: Path) -> tuple[str, str]:
    """Name and text of a grammar file.

    Raises:
        BadGrammar: it cannot be read, or is not UTF-8 text.
    """
    try:
        return str(file), read_bytes(file, BadGrammar).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadGrammar(f"{file}: not UTF-8 text (byte {error.start}). Save it as UTF-8.") from error


def lexicon(keepers: Path | None = None) -> Lexicon:
    """How words sound: the trade's supplement, then the keeper's own `pronunciations.dict`."""
    files = [package_folder("grammars") / "pronunciations.dict"]
    if keepers and (keepers / "pronunciations.dict").is_file():
        files.append(keepers / "pronunciations.dict")
    return Lexicon.read(files)


def _listener(name: str, graph: WordGraph, sounds: Lexicon, keepers: Path | None) -> Listener:
    if name == "vosk":
        from assistant.listening.speech_models import vosk_listener

        return vosk_listener(graph, package_folder("grammars"), keepers)
    if name == "pocketsphinx":
        from assistant.hearing.pocketsphinx_listener import PocketSphinxListener

        return PocketSphinxListener(graph, sounds)
    if name == "phonemes":
        from assistant.hearing.phoneme_listener import PhonemeListener

        return PhonemeListener(graph, sounds)
    if name == "moonshine":
        from assistant.hearing.moonshine_listener import MoonshineListener

        return MoonshineListener(graph)
    raise ListenerMissing(f"There is no listener {name!r}. Those that exist are {', '.join(LISTENERS)}.")


def load_listeners(names: Sequence[str] | None = None) -> None:
    """Loads the libraries and models of the listeners, which need nothing of a holding."""
    for name in names or LISTENERS:
        with suppress(ListenerMissing):  # whoever makes the listeners is told
            if name == "phonemes":
                from assistant.hearing.phoneme_listener import load_network

                load_network()
            if name == "moonshine":
                from assistant.hearing.moonshine_model import load_model

                load_model()


def ears(graph: WordGraph, sounds: Lexicon, names: Sequence[str] | None = None, keepers: Path | None = None) -> Ears:
    """The listeners that are named, or all that can run here.

    Args:
        graph: what can be said.
        sounds: how its words sound.
        names: listeners.
        keepers: folder with the keeper's own grammar files, or None.

    Raises:
        ListenerMissing: a named listener cannot run here, or none can.
        UnknownWord: a listener cannot hear a word of the graph.
    """

    def made(name: str) -> Listener | None:
        try:
            return _listener(name, graph, sounds, keepers)
        except ListenerMissing:
            if names is not None:
                raise
            return None

    wanted = LISTENERS if names is None else names
    with ThreadPoolExecutor(len(wanted)) as threads:  # one waits for its process, others load here meanwhile
        found = [listener for listener in threads.map(made, wanted) if listener is not None]
    if not found:
        raise ListenerMissing("No listener can run here. Install the program again with all that it needs.")
    return Ears(found)


def notices(listeners: Ears) -> tuple[str, ...]:
    """What the keeper should know of the listeners: the words that one of them cannot hear, and what to do."""
    return tuple(
        f"{listener.name} does not know {len(words)} words: {', '.join(sorted(words)[:MOST_NAMED])}"
        f"{' …' if len(words) > MOST_NAMED else '.'} See them all, and what to do: assistant models words"
        for listener in listeners.listeners
        if (words := getattr(listener, "cannot_hear", ()))
    )


@dataclass(frozen=True)
class Spoken:
    """The animals and words of a holding.

    Attributes:
        register: the animals.
        keepers: the folder with the keeper's own grammar files, or None.
        planned: ids of the animals of this session, which are likelier to be mentioned.
        medicines: their names.
        kept: the folder where the grammar is kept once it is put together; None for nowhere.
    """

    register: Register
    keepers: Path | None = None
    planned: Collection[str] = ()
    medicines: tuple[str, ...] = ()
    kept: Path | None = None

    @cached_property
    def lexicon(self) -> Lexicon:
        """How words sound here."""
        return lexicon(self.keepers)

    @cached_property
    def interpreter(self) -> Interpreter:
        """What words mean here."""
        matcher = Matcher(self.register, self.lexicon.of)
        forget_letters()
        return Interpreter(self._grammar(), matcher)

    def keep_grammar(self) -> None:
        """Keeps the grammar with its graphs for the next start, unless it came from there."""
        grammar = self.interpreter.grammar
        if self.kept is not None and not grammar.is_kept:
            self._kept_in(self.kept).write(grammar)

    def _grammar(self) -> Grammar:
        if self.kept is None:
            return Grammar.load(grammar_sources(self.keepers), self._fills(), tag_trouble)
        kept = self._kept_in(self.kept)
        return kept.read() or Grammar.load(kept.sources, kept.fills, tag_trouble)

    def _kept_in(self, folder: Path) -> KeptGrammar:
        return KeptGrammar(folder, grammar_sources(self.keepers), self._fills())

    def _fills(self) -> Mapping[str, Sequence[Fill]]:
        return animal_fills(tuple(self.register), self.medicines, self.planned)

    def ears(self, names: Sequence[str] | None = None, rule: str = "remark") -> Ears:
        """Who listens for the sentences of a rule."""
        return ears(self.interpreter.grammar.graph(rule), self.lexicon, names, self.keepers)


class RemarkEars:
    """The listeners of a holding, asked for remarks.

    Args:
        spoken: what is listened for.
        names: listeners; None for all that can run here.
    """

    def __init__(self, spoken: Spoken, names: Sequence[str] | None = None) -> None:
        self._ears = spoken.ears(names)
        self._key, self._transcribed = spoken.interpreter.key, spoken.interpreter.transcribed
        forget_letters()
        spoken.keep_grammar()
        self.names, self.notices = self._ears.names, notices(self._ears)
        self._apart = asides_apart(lambda sound: self._ears.judge(sound, self._key, self._transcribed), _pauses)

    def judge(self, sound: Sound) -> Verdict:
        """Hears one remark, 16 kHz mono, without what is said to the animal before or after it; see `Ears.judge`."""
        return self._apart(sound)


def _pauses(sound: Sound) -> Sequence[Pause]:
    from assistant.sound.endpoint import pauses

    return pauses(sound)
