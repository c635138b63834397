"""How words sound: a dictionary, the holding's own additions, and spelling rules for invented names.

Pronunciations are ARPAbet without stress, as the en-us model of CMU Sphinx has them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from assistant.errors import BadSetting, UnknownWord
from assistant.hearing.dictionary import dictionary

Phones = tuple[str, ...]

_VOWELS = "AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW"
_CONSONANTS = "B CH D DH F G HH JH K L M N NG P R S SH T TH V W Y Z ZH"

VOWELS = frozenset(_VOWELS.split())
PHONES = VOWELS | frozenset(_CONSONANTS.split())
"""The 39 sounds of the CMU Pronouncing Dictionary."""

_GLIDING = frozenset(("IH", "IY", "EH", "UH", "AY", "AW"))
"""Vowels after which a silent r leaves a short vowel behind, as in "near"."""

_IPA = {
    **{"ɑ": "AA", "æ": "AE", "ʌ": "AH", "ə": "AH", "ɔ": "AO", "aʊ": "AW", "aɪ": "AY", "b": "B", "tʃ": "CH", "d": "D"},
    **{"ð": "DH", "ɛ": "EH", "ɝ": "ER", "ɚ": "ER", "eɪ": "EY", "f": "F", "g": "G", "ɡ": "G", "h": "HH", "ɪ": "IH"},
    **{"i": "IY", "dʒ": "JH", "k": "K", "l": "L", "m": "M", "n": "N", "ŋ": "NG", "oʊ": "OW", "ɔɪ": "OY", "p": "P"},
    **{"ɹ": "R", "s": "S", "ʃ": "SH", "t": "T", "θ": "TH", "ʊ": "UH", "u": "UW", "v": "V", "w": "W", "j": "Y"},
    **{"z": "Z", "ʒ": "ZH"},
}
_IPA_SOUND = re.compile("|".join(sorted(_IPA, key=len, reverse=True)))


class Lexicon:
    """Pronunciations of words.

    A word is looked up in the added dictionaries and in the en-us dictionary of PocketSphinx; what both have is joined,
    additions first. Only a word that is in none of them is sounded out from its letters.

    Args:
        additions: (name, text) of dictionaries in CMU format; the name is only for messages.
        british: whether British variants are added (see `british_variants`).

    Raises:
        BadSetting: a line of an added dictionary is not `word PHONE PHONE …`.
        ListenerMissing: PocketSphinx, whose wheel holds the dictionary, is not installed.
    """

    def __init__(self, additions: Sequence[tuple[str, str]] = (), british: bool = True) -> None:
        self._british = british
        self._added: dict[str, list[Phones]] = {}
        for name, text in additions:
            for word, phones in _checked(name, text):
                self._added.setdefault(word, []).append(phones)
        self._dictionary = dictionary()
        self.of = lru_cache(maxsize=None)(self._of)

    @classmethod
    def read(cls, paths: Iterable[Path], british: bool = True) -> Lexicon:
        """A lexicon with additions from files; a file that does not exist adds nothing.

        Raises:
            BadSetting: as the class, or a file that is not text.
        """
        additions = []
        for path in paths:
            try:
                additions.append((str(path), path.read_text(encoding="utf-8-sig")))
            except FileNotFoundError:
                continue
            except (OSError, UnicodeDecodeError) as error:
                raise BadSetting(f"The dictionary {path} cannot be read as UTF-8 text: {error}") from error
        return cls(additions, british)

    def _of(self, word: str) -> tuple[Phones, ...]:
        """Every way to say one word.

        Args:
            word: lower case, without spaces.

        Returns:
            One or more pronunciations, the commonest first, each once.

        Raises:
            UnknownWord: the word is in no dictionary and cannot be sounded out.
        """
        listed = [*self._added.get(word, ()), *(tuple(line.split()) for line in self._dictionary.of(word))]
        found = listed or _sounded_out(word)
        if not found:
            raise UnknownWord(
                f'It is not known how "{word}" sounds. Add a line to your pronunciations file: the word, then its '
                "sounds, as in: tansy T AE N Z IY"
            )
        if self._british:
            found = [*found, *(variant for phones in found for variant in british_variants(word, phones))]
        return tuple(dict.fromkeys(found))


def british_variants(word: str, phones: Phones) -> tuple[Phones, ...]:
    """How a British speaker says what an American dictionary lists, where the two differ.

    Four differences are covered: r is silent unless a vowel follows; the vowel of "lot", spelt o, is rounded; "new"
    and "tube" keep their y; the vowel of "back" is so open that to an American ear it is rather that of "father".

    Source:
        J. C. Wells, Accents of English (1982), sections on the lexical sets and on R-dropping.
        A. Cruttenden, Gimson's Pronunciation of English (8th edition, 2014), on the vowel of "trap".
    """
    spoken = _with_glide(word, _rounded(word, phones))
    ways = (spoken, _without_r(spoken))
    variants = (*ways, *map(_opened, ways))
    return tuple(variant for variant in dict.fromkeys(variants) if variant != phones)


def _opened(phones: Phones) -> Phones:
    return tuple("AA" if phone == "AE" else phone for phone in phones)


def _rounded(word: str, phones: Phones) -> Phones:
    if "o" not in word or "a" in word:
        return phones
    followers = (*phones[1:], "")
    return tuple(
        "AO" if phone == "AA" and after != "R" else phone for phone, after in zip(phones, followers, strict=True)
    )


def _with_glide(word: str, phones: Phones) -> Phones:
    if not re.search("[ntd](ew|u)", word):
        return phones
    said: list[str] = []
    for before, phone in zip(("", *phones), phones, strict=False):
        said += ["Y", phone] if phone == "UW" and before in {"N", "T", "D"} else [phone]
    return tuple(said)


def _without_r(phones: Phones) -> Phones:
    said: list[str] = []
    for before, phone, after in zip(("", *phones), phones, (*phones[1:], ""), strict=False):
        silent = after not in VOWELS
        if phone == "R" and silent:
            said += ["AH"] if before in _GLIDING else []
        elif phone == "ER" and silent and VOWELS & set(said):
            said.append("AH")  # the end of "doctor"; the only vowel of "third" stays
        else:
            said.append(phone)
    return tuple(said)


def _checked(name: str, text: str) -> Iterator[tuple[str, Phones]]:
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.split("#", 1)[0].strip()
        if not content or content.startswith(";;;"):
            continue
        word, *sounds = content.split()
        phones = tuple(sound.upper().rstrip("012") for sound in sounds)
        if not phones:
            raise BadSetting(f"{name}, line {number}: no sounds after {word!r}. Write for example: tansy T AE N Z IY")
        if unknown := [phone for phone in phones if phone not in PHONES]:
            raise BadSetting(
                f"{name}, line {number}: {unknown[0]!r} in {content!r} is no sound. Known: {' '.join(sorted(PHONES))}"
            )
        yield _headword(word).lower(), phones


def _headword(word: str) -> str:
    return re.sub(r"\(\d+\)$", "", word)


@cache
def _letter_model() -> Any | None:
    """The model that sounds out letters, or None where its library cannot run."""
    try:
        from hama import G2PModel
    except ImportError:
        return None
    model = G2PModel()
    # Its own table of letters is made anew for every letter: that was most of the time for a name.
    model.tokenizer.vocab = SimpleNamespace(encoder_token_to_id=model.vocab.encoder_token_to_id)
    return model


def forget_letters() -> None:
    """Lets go of the model that sounds out letters, 8 MB, where most words are known; a new one brings it back."""
    _letter_model.cache_clear()


def _sounded_out(word: str) -> list[Phones]:
    """The word as its letters suggest, or nothing if they suggest nothing that can be said."""
    model = _letter_model()
    if model is None or not re.fullmatch("[a-z']+", word):
        return []
    phones: list[str] = []
    ipa = model.predict(word.replace("'", "")).ipa.replace("͡", "")
    end = 0
    for sound in _IPA_SOUND.finditer(ipa):
        if sound.start() != end:
            return []
        end = sound.end()
        phones.append(_IPA[sound.group()])
    speakable = end == len(ipa) and bool(VOWELS & set(phones))
    return [tuple(phones)] if speakable else []
