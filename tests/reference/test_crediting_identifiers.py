"""Identifiers against the worked examples that their keepers publish."""

from __future__ import annotations

import pytest

from logbook.crediting.check_digits import gs1_mod_10, ipi_mod_101, iswc_mod_10, mod_11_2
from logbook.crediting.identifiers import (
    format_ean,
    format_isni,
    format_isrc,
    format_iswc,
    read_ean,
    read_ipi,
    read_isni,
    read_isrc,
    read_iswc,
)


def test_isrc_is_printed_with_its_letters_and_three_hyphens() -> None:
    # International ISRC Registration Authority, "ISRC Structure" (isrc.ifpi.org): AA6Q72000047,
    # a code made up there for the explanation, visually presented as ISRC AA-6Q7-20-00047.
    assert read_isrc("AA6Q72000047") == "AA6Q72000047"
    assert format_isrc("AA6Q72000047") == "ISRC AA-6Q7-20-00047"


def test_iswc_worked_example() -> None:
    # Example of the check digit of ISO 15707 as given in the encyclopedia article "International
    # Standard Musical Work Code": T-034.524.680-C, sum 179, C = 1.
    assert iswc_mod_10("034524680") == "1"
    assert read_iswc("T-034.524.680-1") == "T0345246801"
    assert format_iswc("T0345246801") == "ISWC T-034.524.680-1"


def test_first_iswc_ever_given() -> None:
    # The same article: the first code is T-000.000.001-0 (the title left out here).
    assert iswc_mod_10("000000001") == "0"
    assert read_iswc("T-000.000.001-0") == "T0000000010"


@pytest.mark.parametrize(
    ("digits", "check"),
    [
        # ISO/IEC 7064, example of MOD 11-2: 0794 takes 0, 079 takes X (from memory).
        ("0794", "0"),
        ("079", "X"),
    ],
)
def test_mod_11_2_of_the_standard(digits: str, check: str) -> None:
    assert mod_11_2(digits) == check


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        # ORCID, "Structure of the ORCID Identifier" (an ISNI from a reserved block, of an invented
        # researcher; from memory).
        ("0000-0002-1825-0097", "ISNI 0000 0002 1825 0097"),
        # The same page's example of a check character X (from memory).
        ("0000-0002-1694-233X", "ISNI 0000 0002 1694 233X"),
    ],
)
def test_isni_examples(written: str, printed: str) -> None:
    assert format_isni(read_isni(written)) == printed


@pytest.mark.parametrize(
    "number",
    [
        # Numbers 1, 2 and 3 of the scheme with their check digits (from memory; the rule itself,
        # weights 10 to 2 and modulus 101, is as open-source works-registration code applies it).
        "00000000199",
        "00000000297",
        "00000000395",
    ],
)
def test_ipi_name_numbers(number: str) -> None:
    assert ipi_mod_101(number[:9]) == number[9:]
    assert read_ipi(number) == number


@pytest.mark.parametrize(
    ("digits", "printed"),
    [
        # GS1, "How to calculate a check digit manually" (gs1.org): 629104150021 takes 3.
        ("6291041500213", "EAN 6 291041 500213"),
        # GS1 Sweden, "Så beräknas kontrollsiffran" (gs1.se): 730001100001 takes 7.
        ("7300011000017", "EAN 7 300011 000017"),
        # GS1 India, "How to calculate the Check Digit" (gs1india.org): 890400021003 takes 7.
        ("8904000210037", "EAN 8 904000 210037"),
        # A UPC's check digit by the same rule: 0 36000 29145 takes 2 (from memory).
        ("036000291452", "UPC 0 36000 29145 2"),
        # A short EAN by the same rule: 7351353 takes 7 (from memory).
        ("73513537", "EAN 7351 3537"),
    ],
)
def test_gs1_examples(digits: str, printed: str) -> None:
    assert gs1_mod_10(digits[:-1]) == digits[-1]
    assert read_ean(digits) == digits
    assert format_ean(digits) == printed
