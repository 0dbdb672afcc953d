from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.crediting.check_digits import gs1_mod_10, ipi_mod_101, iswc_mod_10, mod_11_2
from logbook.crediting.errors import CreditError
from logbook.crediting.identifiers import (
    format_ean,
    format_ipi,
    format_isni,
    format_isrc,
    format_iswc,
    read_ean,
    read_ipi,
    read_isni,
    read_isrc,
    read_iswc,
)

Reader = Callable[[str], str]


def digits(count: int) -> st.SearchStrategy[str]:
    return st.text("0123456789", min_size=count, max_size=count)


isrcs = st.from_regex(r"[A-Z]{2}[A-Z0-9]{3}[0-9]{7}", fullmatch=True)
iswcs = digits(9).map(lambda work: f"T{work}{iswc_mod_10(work)}")
isnis = digits(15).map(lambda name: name + mod_11_2(name))
ipis = digits(9).map(lambda name: name + ipi_mod_101(name))
eans = st.one_of(digits(7), digits(11), digits(12)).map(lambda item: item + gs1_mod_10(item))


@pytest.mark.parametrize(
    ("read", "written", "plain"),
    [
        (read_isrc, "AA6Q72000047", "AA6Q72000047"),
        (read_isrc, "  isrc aa-6q7-20-00047 ", "AA6Q72000047"),
        (read_isrc, "ISRC: AA 6Q7 20 00047", "AA6Q72000047"),
        (read_isrc, "ISRC-AA6Q72000047", "AA6Q72000047"),
        (read_isrc, "AA‐6Q7‑20–00047", "AA6Q72000047"),
        (read_isrc, "AA\u00a06Q7\u200b2000047", "AA6Q72000047"),
        # a code whose own first letters are ISRC
        (read_isrc, "ISRC12000047", "ISRC12000047"),
        (read_isrc, "IS-RC1-20-00047", "ISRC12000047"),
        (read_isrc, "ISRC IS-RC1-20-00047", "ISRC12000047"),
        (read_iswc, "T-034.524.680-1", "T0345246801"),
        (read_iswc, "iswc t0345246801", "T0345246801"),
        (read_iswc, "T 034 524 680 1", "T0345246801"),
        (read_isni, "0000 0002 1694 233x", "000000021694233X"),
        (read_isni, "ISNI:000000021694233X", "000000021694233X"),
        (read_isni, "https://isni.org/isni/000000021694233X", "000000021694233X"),
        (read_isni, "http://www.isni.org/000000021694233X", "000000021694233X"),
        (read_ipi, "00000000199", "00000000199"),
        (read_ipi, "IPI name number: 000 000 001 99", "00000000199"),
        (read_ipi, "CAE/IPI 000000199", "00000000199"),
        (read_ipi, "IPI #0000000199", "00000000199"),
        (read_ean, "6 291041 500213", "6291041500213"),
        (read_ean, "EAN-13: 6291041500213", "6291041500213"),
        (read_ean, "EAN 13 6291041500213", "6291041500213"),
        (read_ean, "EAN6291041500213", "6291041500213"),
        (read_ean, "GTIN 06291041500213", "6291041500213"),
        (read_ean, "GTIN-14 06291041500213", "6291041500213"),
        (read_ean, "EAN-8 7351-3537", "73513537"),
        (read_ean, "EAN 8 000000 000002", "8000000000002"),
        (read_ean, "UPC-A 0-36000-29145-2", "036000291452"),
        (read_ean, "barcode 73513537", "73513537"),
    ],
)
def test_what_people_write_is_read_and_stored_plain(read: Reader, written: str, plain: str) -> None:
    assert read(written) == plain


@pytest.mark.parametrize(
    ("read", "written", "says"),
    [
        (read_isrc, "AA-6Q7-20-0004", ["ISRC", "11 characters", "AA-6Q7-20-00047"]),
        (read_isrc, "1A6Q72000047", ["ISRC", "'1' as character 1", "letter"]),
        (read_isrc, "AA6Q!2000047", ["ISRC", "'!' as character 5"]),
        (read_isrc, "AA6Q72OO0047", ["ISRC", "'O' as character 7", "the digit 0 was meant"]),
        (read_isrc, "AA6Q72٠00047", ["ISRC", "'٠' as character 7", "only a digit"]),
        (read_isrc, "", ["The ISRC is empty"]),
        (read_isrc, "ISRC", ["The ISRC is empty"]),
        (read_iswc, "X-034.524.680-1", ["ISWC", "does not begin with T"]),
        (read_iswc, "034.524.680-1", ["ISWC", "does not begin with T"]),
        (read_iswc, "T-034.524.680", ["ISWC", "10 characters"]),
        (read_iswc, "T-034.524.680-2", ["check digit is 2, and 1 was expected", "T-034.524.680-1"]),
        (read_isni, "0000 0002 1694 2331", ["check digit is 1, and X was expected", "233X"]),
        (read_isni, "0000 0002 169X 233X", ["ISNI", "'X' as character 12"]),
        (read_isni, "0000 0002 1694 233A", ["ISNI", "ends in 'A'"]),
        (read_isni, "0000 0002 1694", ["ISNI", "12 characters"]),
        (read_ipi, "00000000198", ["check digits are 98, and 99 was expected", "00000000199"]),
        (read_ipi, "I-000000001-9", ["IPI base number", "eleven digits"]),
        (read_ipi, "199", ["IPI name number", "3 digits"]),
        (read_ean, "6291041500214", ["The EAN", "check digit is 4, and 3 was expected"]),
        (read_ean, "036000291453", ["The UPC", "check digit is 3, and 2 was expected"]),
        (read_ean, "16291041500213", ["EAN or UPC", "14 digits"]),
        (read_ean, "62910415002I3", ["'I' as character 12", "the digit 1 was meant"]),
    ],
)
def test_an_error_names_the_identifier_and_what_would_be_right(
    read: Reader, written: str, says: list[str]
) -> None:
    with pytest.raises(CreditError) as caught:
        read(written)
    assert all(part in str(caught.value) for part in says), str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("format_", "plain", "with_letters", "without"),
    [
        (format_isrc, "AA6Q72000047", "ISRC AA-6Q7-20-00047", "AA-6Q7-20-00047"),
        (format_iswc, "T0345246801", "ISWC T-034.524.680-1", "T-034.524.680-1"),
        (format_isni, "000000021694233X", "ISNI 0000 0002 1694 233X", "0000 0002 1694 233X"),
        (format_ipi, "00000000199", "IPI 00000000199", "00000000199"),
        (format_ean, "6291041500213", "EAN 6 291041 500213", "6 291041 500213"),
        (format_ean, "036000291452", "UPC 0 36000 29145 2", "0 36000 29145 2"),
        (format_ean, "73513537", "EAN 7351 3537", "7351 3537"),
    ],
)
def test_printed_with_or_without_the_letters_in_front(
    format_: Callable[..., str], plain: str, with_letters: str, without: str
) -> None:
    assert format_(plain) == with_letters
    assert format_(plain, letters=False) == without


@given(isrcs, iswcs, isnis, ipis, eans)
def test_every_printed_form_reads_back_to_the_plain_one(
    isrc: str, iswc: str, isni: str, ipi: str, ean: str
) -> None:
    for letters in (True, False):
        assert read_isrc(format_isrc(isrc, letters=letters)) == isrc
        assert read_iswc(format_iswc(iswc, letters=letters)) == iswc
        assert read_isni(format_isni(isni, letters=letters)) == isni
        assert read_ipi(format_ipi(ipi, letters=letters)) == ipi
        assert read_ean(format_ean(ean, letters=letters)) == ean


def _with_one_digit_changed(plain: str, place: int, by: int) -> str:
    changed = (int(plain[place]) + by) % 10
    return f"{plain[:place]}{changed}{plain[place + 1 :]}"


def _is_refused(read: Reader, plain: str) -> bool:
    try:
        read(plain)
    except CreditError:
        return True
    return False


@pytest.mark.parametrize(
    ("read", "plains"), [(read_isni, isnis), (read_ipi, ipis), (read_ean, eans)]
)
@given(data=st.data())
def test_every_single_wrong_digit_is_caught(
    read: Reader, plains: st.SearchStrategy[str], data: st.DataObject
) -> None:
    plain = data.draw(plains)
    place = data.draw(st.sampled_from([at for at, c in enumerate(plain) if c.isdigit()]))
    by = data.draw(st.integers(1, 9))
    assert _is_refused(read, _with_one_digit_changed(plain, place, by))


@given(iswcs, st.sampled_from([1, 3, 7, 9, 10]), st.integers(1, 9))
def test_a_wrong_digit_of_a_work_code_is_caught_where_its_weight_shares_nothing_with_ten(
    plain: str, place: int, by: int
) -> None:
    assert _is_refused(read_iswc, _with_one_digit_changed(plain, place, by))


def test_a_work_code_cannot_catch_every_wrong_digit() -> None:
    # weight 5 times a difference of 2 is a ten: the scheme promises nothing here
    assert read_iswc("T-000.020.001-0") == "T0000200010"


@given(isnis, st.integers(0, 13))
def test_two_neighbours_of_a_name_identifier_that_changed_places_are_caught(
    plain: str, place: int
) -> None:
    first, second = plain[place], plain[place + 1]
    swapped = plain[:place] + second + first + plain[place + 2 :]
    assert swapped == plain or _is_refused(read_isni, swapped)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in (read_isrc, read_iswc, read_isni, read_ipi, read_ean):
        if not _is_refused(read, text):
            plain = read(text)
            assert plain.isascii()
            assert read(plain) == plain
