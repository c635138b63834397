"""Electronic codes and visible numbers of animals, as the standards have them.

Sources: ISO 11784 (structure of the code; field widths as shown in the ICAR slide on its coding); Regulation (EC)
933/2008 and Implementing Regulation (EU) 2021/520 art. 12 (visible numbers; XI and 899 for Northern Ireland); Defra's
guidance for sheep keepers (UK 0, six digits of the flock, five of the animal); 9 CFR 79.1 (United States flock ids).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from assistant.errors import BadRegister

LARGEST_NATIONAL = 2**38 - 1
"""ISO 11784 gives the national number 38 bits."""

_ANIMAL_FLAG = 1 << 63
_COUNTRY_SHIFT = 38
_DIGITS_SHOWN = 15
_FIRST_MAKER, _TEST = 900, 999

_PREFIX_OF_COUNTRY = {"826": "UK", "899": "XI"}
_COUNTRY_OF_PREFIX = {prefix: country for country, prefix in _PREFIX_OF_COUNTRY.items()}


class Issuer(StrEnum):
    """Who the first three digits of an electronic code stand for."""

    COUNTRY = "country"
    MAKER = "maker"
    TEST = "test"


class Completeness(StrEnum):
    """How much of an identity a visible number holds."""

    COMPLETE = "complete"
    INCOMPLETE = "incomplete"
    FLOCK_ONLY = "flock mark only"


@dataclass(frozen=True)
class ElectronicCode:
    """A code of ISO 11784.

    Attributes:
        country: three digits as text: ISO 3166-1 numeric, 899 for Northern Ireland, or 900 to 999 (not a country).
        national: twelve digits as text; leading zeros count.
    """

    country: str
    national: str

    @property
    def digits(self) -> str:
        """The 15 digits that a reader shows."""
        return self.country + self.national

    @property
    def issuer(self) -> Issuer:
        """Country, maker of the transponder (900 to 998), or test (999)."""
        number = int(self.country)
        return Issuer.TEST if number == _TEST else Issuer.MAKER if number >= _FIRST_MAKER else Issuer.COUNTRY

    @property
    def is_official(self) -> bool:
        """Whether it can be an official number: only a country's can."""
        return self.issuer is Issuer.COUNTRY

    @property
    def value(self) -> int:
        """The 64 bits: animal flag first, country in bits 17 to 26, national number in bits 27 to 64."""
        return _ANIMAL_FLAG + (int(self.country) << _COUNTRY_SHIFT) + int(self.national)

    @property
    def hex(self) -> str:
        """`value` as 16 hexadecimal digits."""
        return f"{self.value:016X}"

    @property
    def visible(self) -> VisibleNumber | None:
        """What is printed on the tag of a British or Northern Irish sheep or goat with this code.

        None for other countries and for a fourth digit that is neither 0 nor 1: that layout is not known here.
        """
        prefix = _PREFIX_OF_COUNTRY.get(self.country)
        if prefix is None or self.national[0] not in "01":
            return None
        return VisibleNumber(prefix, self.national[0], self.national[1:7], self.national[7:])

    @property
    def reason(self) -> str:
        """What the code is, in a sentence."""
        if self.issuer is Issuer.MAKER:
            return f"{self.country} is the code of a maker, not of a country: not an official number (ISO 11784)."
        if self.issuer is Issuer.TEST:
            return "999 is for tests: not an official number (ISO 11784)."
        visible = self.visible
        if visible is None:
            layout = ", but not a sheep or goat layout known here" if self.country in _PREFIX_OF_COUNTRY else ""
            return f"A valid code of country {self.country}{layout} (ISO 11784)."
        older = " An older form from Northern Ireland." if (visible.prefix, visible.region) == ("UK", "1") else ""
        return f"Reads as {visible} (ISO 11784).{older}"


@dataclass(frozen=True)
class VisibleNumber:
    """A number as printed on a tag: prefix, region digit, six digits of the flock or herd, five of the animal.

    Attributes:
        prefix: UK, or XI for Northern Ireland.
        region: one digit, 0 in Great Britain, 1 in Northern Ireland; empty if it was left out.
        mark: flock or herd mark, six digits as text.
        animal: five digits as text; empty on a slaughter tag.
    """

    prefix: str
    region: str
    mark: str
    animal: str

    def __str__(self) -> str:
        return " ".join(part for part in (self.prefix, self.region, self.mark, self.animal) if part)

    @property
    def completeness(self) -> Completeness:
        """Whether it tells one animal from all others."""
        if not self.animal:
            return Completeness.FLOCK_ONLY
        return Completeness.COMPLETE if self.region else Completeness.INCOMPLETE

    @property
    def suggestion(self) -> VisibleNumber | None:
        """The number that is probably meant where the region digit was left out; to be asked, never assumed."""
        if self.completeness is not Completeness.INCOMPLETE:
            return None
        return VisibleNumber(self.prefix, "1" if self.prefix == "XI" else "0", self.mark, self.animal)

    @property
    def electronic(self) -> ElectronicCode | None:
        """The code in the animal's transponder, if the number is complete."""
        if self.completeness is not Completeness.COMPLETE:
            return None
        return ElectronicCode(_COUNTRY_OF_PREFIX[self.prefix], self.region + self.mark + self.animal)

    @property
    def reason(self) -> str:
        """What the number is, in a sentence."""
        if self.completeness is Completeness.FLOCK_ONLY:
            return f"{self} is a flock mark only, as on a slaughter tag: no single animal has it."
        if self.suggestion:
            return f"{self} lacks the digit after {self.prefix}. Is it {self.suggestion}?"
        known = self.region == ("1" if self.prefix == "XI" else "0") or (self.prefix, self.region) == ("UK", "1")
        return f"{self} is complete." if known else f"{self}: a {self.region} after {self.prefix} is not known here."


def electronic_code(text: str) -> ElectronicCode:
    """Reads an electronic code; spaces, dots and dashes between digits are left out.

    Raises:
        BadRegister: not 15 digits, country 000, or a national number over 38 bits; the message names the rule.
    """
    digits = re.sub(r"[\s.-]", "", text)
    if wrong := re.search("[^0-9]", digits):
        hint = " (the letter, not zero)" if wrong.group() in "oO" else ""
        raise BadRegister(f"{text!r}: {wrong.group()!r}{hint} is no digit. ISO 11784 codes are 15 digits.")
    if len(digits) != _DIGITS_SHOWN:
        raise BadRegister(f"{text!r} has {len(digits)} digits. ISO 11784 codes have 15; leading zeros count.")
    code = ElectronicCode(digits[:3], digits[3:])
    if int(code.country) == 0:
        raise BadRegister(f"{text!r} begins with 000, which is no country of ISO 3166-1 and no maker.")
    if int(code.national) > LARGEST_NATIONAL:
        raise BadRegister(
            f"{text!r}: the national number {code.national} is over {LARGEST_NATIONAL}, the largest that 38 bits of "
            "ISO 11784 hold. Read the code again."
        )
    return code


def uk_visible(text: str) -> VisibleNumber:
    """Reads a British or Northern Irish number as printed or said; spaces, dots and dashes are left out.

    Returns:
        The number; see its `completeness`, since the digit after UK is often left out.

    Raises:
        BadRegister: another form; the message says which one is expected.
    """
    form = re.fullmatch(r"(UK|XI)(?:([0-9]?)([0-9]{6})([0-9]{5})|([0-9]{6}))", re.sub(r"[\s.-]", "", text).upper())
    if form is None:
        raise BadRegister(
            f"{text!r} is not a sheep or goat number of the United Kingdom. It is UK (or XI), one digit, six digits of "
            "the flock or herd, five digits of the animal, such as UK 0 123456 00001."
        )
    prefix, region, mark, animal, flock = form.groups()
    return VisibleNumber(prefix, region or "", mark or flock, animal or "")


_STATES = (
    "AL AK AZ AR CA CO CT DE FL GA HI ID IL IN IA KS KY LA ME MD MA MI MN MS MO MT NE NV NH NJ NM NY NC ND OH OK OR PA "
    "RI SC SD TN TX UT VT VA WA WV WI WY DC PR VI GU AS MP"
)


def us_flock_id(text: str) -> str:
    """Checks a flock id of the scrapie programme of the United States.

    Returns:
        The id in capitals without spaces.

    Raises:
        BadRegister: it breaks 9 CFR 79.1: postal letters of a state first, at most nine characters, no I, O or Q after
            the letters of the state.
    """
    code = re.sub(r"\s", "", text).upper()
    if not re.fullmatch("[A-Z0-9]{3,9}", code) or code[:2] not in _STATES.split():
        raise BadRegister(
            f"{text!r} is not a flock id of 9 CFR 79.1: it begins with the letters of a state and has at most nine "
            "letters and digits, such as OH1234."
        )
    if wrong := re.search("[IOQ]", code[2:]):
        raise BadRegister(f"{text!r}: a flock id has no {wrong.group()} after the letters of the state (9 CFR 79.1).")
    return code
