"""Electronic codes and visible numbers against the published rules.

Sources: ISO 11784 (3-digit country, 38-bit national number; ICAR slide on its coding); a veterinary practice newsletter
of 2009-12-03 (UK 0 654321 00042 is 826 0 654321 00042, numbers changed); Regulation (EU) 2021/520 art. 12 and DAERA's
questions and answers of 2024 (XI, 899); Irish Farmers Journal 2024 (XI 1, formerly UK 1); 9 CFR 79.1 (flock ids). All
numbers are invented.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import BadRegister
from assistant.register.identity import (
    LARGEST_NATIONAL,
    Completeness,
    ElectronicCode,
    Issuer,
    electronic_code,
    uk_visible,
    us_flock_id,
)

VALID = [
    ("826012345600001", Issuer.COUNTRY, "UK 0 123456 00001", "Reads as UK 0 123456 00001"),
    ("826 0 123456 00001", Issuer.COUNTRY, "UK 0 123456 00001", "Reads as"),
    ("826112345600001", Issuer.COUNTRY, "UK 1 123456 00001", "older form from Northern Ireland"),
    ("899112345600001", Issuer.COUNTRY, "XI 1 123456 00001", "Reads as XI 1"),
    ("840003123456789", Issuer.COUNTRY, None, "valid code of country 840"),
    ("056000000012345", Issuer.COUNTRY, None, "country 056"),
    ("826274877906943", Issuer.COUNTRY, None, "not a sheep or goat layout"),
    ("900012345678901", Issuer.MAKER, None, "not an official number"),
    ("998012345678901", Issuer.MAKER, None, "maker"),
    ("999123456789012", Issuer.TEST, None, "not an official number"),
]

INVALID = [
    ("826274877906944", "38 bits"),
    ("826312345600001", "274877906943"),
    ("82601234560001", "14 digits"),
    ("8260123456000012", "16 digits"),
    ("826O12345600001", "the letter, not zero"),
    ("000012345678901", "no country"),
    ("56000000012345", "14 digits"),
    ("", "0 digits"),
    ("٨26012345600001", "no digit"),
    ("-26012345600001", "14 digits"),
]


@pytest.mark.parametrize(("text", "issuer", "visible", "reason"), VALID)
def test_codes_that_can_exist(text: str, issuer: Issuer, visible: str | None, reason: str) -> None:
    code = electronic_code(text)
    assert code.issuer is issuer
    assert code.is_official == (issuer is Issuer.COUNTRY)
    assert (str(code.visible) if code.visible else None) == visible
    assert reason in code.reason
    assert code.digits == text.replace(" ", "")


@pytest.mark.parametrize(("text", "reason"), INVALID)
def test_codes_that_cannot_exist(text: str, reason: str) -> None:
    with pytest.raises(BadRegister, match=reason):
        electronic_code(text)


def test_bits() -> None:
    code = electronic_code("826012345600001")
    assert code.hex == "8000CE82DFDAE801"
    assert code.value == 2**63 + 826 * 2**38 + 12345600001


@given(st.integers(1, 999), st.integers(0, LARGEST_NATIONAL))
def test_text_keeps_every_digit_and_bits_come_apart_again(country: int, national: int) -> None:
    code = electronic_code(f"{country:03}{national:012}")
    assert code == electronic_code(code.digits)
    assert len(code.digits) == 15
    assert (code.value >> 38 & 0x3FF, code.value & LARGEST_NATIONAL, code.value >> 63) == (country, national, 1)


VISIBLE = [
    ("UK 0 654321 00042", Completeness.COMPLETE, "826065432100042", "complete"),
    ("uk065432100042", Completeness.COMPLETE, "826065432100042", "complete"),
    ("XI 1 123456 00001", Completeness.COMPLETE, "899112345600001", "complete"),
    ("UK 1 123456 00001", Completeness.COMPLETE, "826112345600001", "complete"),
    ("UK 7 123456 00001", Completeness.COMPLETE, "826712345600001", "not known here"),
    ("UK 123456 00001", Completeness.INCOMPLETE, None, "Is it UK 0 123456 00001?"),
    ("XI 123456 00001", Completeness.INCOMPLETE, None, "Is it XI 1 123456 00001?"),
    ("UK 123456", Completeness.FLOCK_ONLY, None, "no single animal"),
]


@pytest.mark.parametrize(("text", "completeness", "electronic", "reason"), VISIBLE)
def test_visible_numbers(text: str, completeness: Completeness, electronic: str | None, reason: str) -> None:
    number = uk_visible(text)
    assert number.completeness is completeness
    assert (number.electronic.digits if number.electronic else None) == electronic
    assert reason in number.reason


@pytest.mark.parametrize(
    "text", ["", "UK", "417", "UK 0 123456", "UK 0 123456 000010", "FR 0 123456 00001", "UK 0 12345X 00001"]
)
def test_other_forms_are_refused(text: str) -> None:
    with pytest.raises(BadRegister, match="UK 0 123456 00001"):
        uk_visible(text)


@given(st.sampled_from(["826", "899"]), st.sampled_from("01"), st.integers(0, 10**11 - 1))
def test_code_and_visible_number_are_two_forms_of_one(country: str, region: str, rest: int) -> None:
    code = ElectronicCode(country, f"{region}{rest:011}")
    assert code.visible is not None
    assert uk_visible(str(code.visible)).electronic == code


@pytest.mark.parametrize("text", ["OH1234", "oh 1234", "OHA12345Z", "ID12", "OR9"])
def test_flock_ids(text: str) -> None:
    assert us_flock_id(text) == text.replace(" ", "").upper()


@pytest.mark.parametrize("text", ["OHI123", "OHO123", "OHQ1", "ZZ1234", "OH12345678", "OH", "", "OH-12"])
def test_flock_ids_that_break_the_rule(text: str) -> None:
    with pytest.raises(BadRegister, match=r"9 CFR 79\.1"):
        us_flock_id(text)
