"""Credits in words: by person, by role, as one line for a sleeve, as CSV rows, as JSON.

Every text made here is safe to print (`logbook.plaintext.clean`), every row safe to open in a
spreadsheet (`csv_cell`). The values for JSON are as they were logged.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Final, TypeAlias

from logbook.crediting.credits import STANDING, Credits
from logbook.crediting.identified import Identified, person_identifiers
from logbook.crediting.lines import CreditLine
from logbook.crediting.people import credited_name
from logbook.crediting.roles import find_role
from logbook.crediting.shares import ROUNDED, percentage_text, percentages
from logbook.names import fold
from logbook.plaintext import clean, csv_cell
from logbook.records.people import Person

Json: TypeAlias = "str | list[Json] | dict[str, Json] | None"

CSV_HEADER: Final = (
    "song",
    "version",
    "release",
    "name",
    "full name",
    "role",
    "instrument",
    "on",
    "of",
    "standing",
    "share",
    "share before rounding",
    "ISNI",
    "IPI",
    "ISWC",
    "ISRC",
    "EAN or UPC",
    "billing",
    "artist",
    "language",
    "genre",
    "explicit",
    "published",
    "(P)",
    "(C)",
)


def role_label(line: CreditLine) -> str:
    """Return the role as a sheet says it: "performer, guitar" or "mixer"."""
    return clean(f"{line.role}, {line.instrument}" if line.instrument else line.role)


def by_person(credits: Credits) -> tuple[tuple[Person, tuple[str, ...]], ...]:
    """Return each credited person with their roles, in alphabetical order of credited names."""
    found: dict[str, tuple[Person, list[str]]] = {}
    for line in credits.lines:
        _, roles = found.setdefault(fold(line.person.name), (line.person, []))
        roles.append(role_label(line))
    ordered = sorted(found.values(), key=lambda entry: _person_order(entry[0]))
    return tuple((person, tuple(roles)) for person, roles in ordered)


def by_role(credits: Credits) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return each role ("performer, guitar") with the names credited for it, in sleeve order."""
    found: dict[str, list[str]] = {}
    for line in credits.lines:
        names = found.setdefault(role_label(line), [])
        name = clean(credited_name(line.person))
        if name not in names:
            names.append(name)
    return tuple((role, tuple(names)) for role, names in found.items())


def sleeve_line(credits: Credits) -> str:
    """Return the credits as one line: "Written by A and B. C: guitar, voice. Mixed by D."."""
    sentences: dict[str, list[str]] = {}
    players: dict[str, tuple[str, list[str]]] = {}
    for line in credits.lines:
        name = clean(credited_name(line.person))
        if line.role == "performer" and line.instrument:
            sentences.setdefault("", [])  # holds the players' place in the order
            _, instruments = players.setdefault(fold(line.person.name), (name, []))
            instruments.append(clean(line.instrument))
        else:
            names = sentences.setdefault(_sleeve_opening(line), [])
            if name not in names:
                names.append(name)
    played = "; ".join(f"{name}: {', '.join(playing)}" for name, playing in players.values())
    said = [
        f"{opening} {_and(names)}" if opening else played for opening, names in sentences.items()
    ]
    return " ".join(_ended(sentence) for sentence in said)


def share_lines(credits: Credits) -> tuple[str, ...]:
    """Return the shares, one a line, then what they make and which way they were counted."""
    if not credits.shares:
        return ()
    lines = []
    printed, is_rounded = _percentages(credits)
    if all(each.endswith(".00") for each in printed):
        printed = tuple(each.removesuffix(".00") for each in printed)
    for place, held in enumerate(credits.shares):
        share = held.share
        agreed = f", agreed {share.agreed_on}" if share.agreed_on else ""
        if share.agreed_by:
            agreed += f" by {share.agreed_by}" if agreed else f", agreed by {share.agreed_by}"
        note = f" ({share.notes})" if share.notes else ""
        lines.append(
            f"{credited_name(held.person)}, {share.side}: {share.share} ({printed[place]} %)"
            f"{agreed}{note}"
        )
    if is_rounded:
        lines.append(f"Percentages are {ROUNDED}.")
    report = credits.share_report
    lines.append(_ended(". ".join(map(_upper, filter(None, (report.verdict, *report.problems))))))
    return tuple(clean(line) for line in lines)


def _upper(sentence: str) -> str:
    return f"{sentence[:1].upper()}{sentence[1:]}"


def apart_lines(credits: Credits) -> tuple[str, ...]:
    """Return who is listed apart: not heard, and those of whom nobody said it."""
    return tuple(
        clean(f"{credited_name(line.person)}: {role_label(line)} ({', '.join(line.places)}), {why}")
        for lines, why in (
            (credits.uncredited, "uncredited, as they wish"),
            (credits.not_used, "not used in the final version"),
            (credits.not_said, "nobody said whether it is in the final version"),
        )
        for line in lines
    )


def missing_lines(credits: Credits) -> tuple[str, ...]:
    """Return what is missing, one sentence a line."""
    return tuple(
        clean(f"{one.what[0].upper()}{one.what[1:]}{'; ' if one.remedy else ''}{one.remedy}.")
        for one in credits.missing
    )


def csv_rows(many: Iterable[Credits]) -> list[list[str]]:
    """Return the header and a row for each line, those listed apart included.

    "standing" and "billing" tell them apart. What a recording does not say of itself (artist,
    genre, publication, phonogram line) is its release's.
    """
    rows = [list(CSV_HEADER)]
    for credits in many:
        song = _by_letters(credits.identifiers)
        shares = _shares_by_holder(credits)
        facts = _label_cells(credits)
        none = ("", "")
        every = (*credits.lines, *credits.uncredited, *credits.not_said, *credits.not_used)
        for line in dict.fromkeys(every):
            person = _by_letters(person_identifiers(line.person))
            cells = (
                credits.song,
                credits.version,
                credits.release,
                credited_name(line.person),
                line.person.full_name,
                line.role,
                line.instrument,
                line.where,
                "; ".join(line.places),
                line.standing,
                *shares.pop(_holding(line), none),
                person.get("ISNI", ""),
                person.get("IPI", ""),
                song.get("ISWC", ""),
                song.get("ISRC", ""),
                song.get("EAN", ""),
                line.billing,
                *facts,
            )
            rows.append([csv_cell(clean(cell)) for cell in cells])
    return rows


def _label_cells(credits: Credits) -> tuple[str, ...]:
    """What a label asks of a recording, in the order of the header's last columns."""
    own, release = dict(credits.facts), dict(credits.release_facts)
    return (
        own.get("artist") or release.get("artist", ""),
        own.get("language", ""),
        own.get("genre") or release.get("genre", ""),
        own.get("explicit", ""),
        own.get("published") or release.get("date", ""),
        own.get("(P)") or release.get("(P)", ""),
        release.get("(C)", ""),
    )


def as_dict(credits: Credits) -> dict[str, Json]:
    """Return the credits as plain values for JSON; identifiers both stored and as printed."""
    report = credits.share_report
    total = report.publishers_total
    return {
        "song": credits.song,
        "version": credits.version,
        "date": credits.date,
        "release": credits.release,
        "identifiers": _identifier_dicts(credits.identifiers),
        "people": [_person_dict(person, roles) for person, roles in by_person(credits)],
        "credits": [_line_dict(line) for line in credits.lines],
        "not_used": [_line_dict(line) for line in credits.not_used],
        "not_said_whether_heard": [_line_dict(line) for line in credits.not_said],
        "shares": [
            {
                "person": held.person.name,
                "side": held.share.side,
                "share": str(held.share.share),
                "percent": percent,
                "agreed_on": held.share.agreed_on,
                "agreed_by": held.share.agreed_by,
                "notes": held.share.notes,
            }
            for held, percent in zip(credits.shares, _percentages(credits)[0], strict=True)
        ],
        "shares_check": {
            "convention": report.convention,
            "writers_total": str(report.writers_total),
            "publishers_total": None if total is None else str(total),
            "problems": list(report.problems),
        },
        "recording": dict(credits.facts),
        "release_facts": dict(credits.release_facts),
        "uncredited": [_line_dict(line) for line in credits.uncredited],
        "asked_by_a_label": [one.what for one in credits.asked],
        "sleeve": sleeve_line(credits),
        "missing": [
            {"kind": one.kind, "what": one.what, "remedy": one.remedy} for one in credits.missing
        ],
        "standing": STANDING,
    }


def _person_order(person: Person) -> tuple[str, str]:
    """Return the key that puts people in alphabetical order of their credited names."""
    return fold(credited_name(person)), fold(person.name)


def _sleeve_opening(line: CreditLine) -> str:
    """Return how a sleeve opens the sentence for this role."""
    role = find_role(line.role)
    opening = role.sleeve if role else f"{clean(line.role).capitalize()}:"
    return f"{opening.rstrip(':')} ({clean(line.instrument)}):" if line.instrument else opening


def _and(names: list[str]) -> str:
    """Return "A", "A and B" or "A, B and C"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _ended(sentence: str) -> str:
    """Return the sentence with one full stop."""
    return sentence if sentence.endswith(".") else f"{sentence}."


def _by_letters(identifiers: Iterable[Identified]) -> dict[str, str]:
    """Return identifiers by their letters, as a column wants them.

    One that is all digits keeps its letters in front, or a spreadsheet would make a number of it.
    """
    found = {}
    for one in identifiers:
        bare = one.printed.split(" ", 1)[1] if " " in one.printed else one.printed
        digits = bare.replace(" ", "").rstrip("X").isdecimal()
        found[one.letters] = one.printed if digits else bare
    return found


def _percentages(credits: Credits) -> tuple[tuple[str, ...], bool]:
    """Return each share as it is printed, and whether any was rounded.

    Those that make one whole together are rounded together.
    """
    together = credits.share_report.counts_together
    printed = [""] * len(credits.shares)
    for side in {held.share.side for held in credits.shares} if not together else {""}:
        places = [n for n, held in enumerate(credits.shares) if side in ("", held.share.side)]
        found = percentages(credits.shares[n].share.share for n in places)
        for place, percent in zip(places, found, strict=True):
            printed[place] = percentage_text(percent)
    is_rounded = any((held.share.share * 10_000).denominator != 1 for held in credits.shares)
    return tuple(printed), is_rounded


def _holding(line: CreditLine) -> tuple[str, str]:
    """Return which side of the shares a line belongs to, and whose."""
    role = find_role(line.role)
    return (role.makes if role else ""), fold(line.person.name)


def _shares_by_holder(credits: Credits) -> dict[tuple[str, str], tuple[str, str]]:
    """Return each holder's shares of one side added up: a percentage, and what was rounded.

    A row takes its share out, so that somebody with two writing roles has it in one row only.
    """
    printed, _ = _percentages(credits)
    percents: dict[tuple[str, str], Fraction] = {}
    totals: dict[tuple[str, str], Fraction] = {}
    for held, percent in zip(credits.shares, printed, strict=True):
        key = (held.share.side, fold(held.person.name))
        totals[key] = totals.get(key, Fraction(0)) + held.share.share
        percents[key] = percents.get(key, Fraction(0)) + Fraction(percent)
    return {
        key: (f"{percentage_text(percents[key])}%", _before_rounding(total, percents[key]))
        for key, total in totals.items()
    }


def _before_rounding(share: Fraction, percent: Fraction) -> str:
    """A share that its percentage does not hold, in words that are no date to a spreadsheet."""
    exact = share * 100 == percent
    return "" if exact else f"{share.numerator} in {share.denominator}"


def _identifier_dicts(identifiers: Iterable[Identified]) -> list[Json]:
    """Return identifiers for JSON."""
    return [
        {
            "kind": one.letters,
            "plain": one.stored,
            "printed": one.printed,
            "problem": one.problem,
        }
        for one in identifiers
    ]


def _person_dict(person: Person, roles: tuple[str, ...]) -> dict[str, Json]:
    """Return a person for JSON."""
    return {
        "name": person.name,
        "credited_as": credited_name(person),
        "full_name": person.full_name,
        "other_names": list(person.other_names),
        "identifiers": _identifier_dicts(person_identifiers(person)),
        "roles": list(roles),
    }


def _line_dict(line: CreditLine) -> dict[str, Json]:
    """Return a credit line for JSON."""
    return {
        "person": line.person.name,
        "credited_as": credited_name(line.person),
        "role": line.role,
        "instrument": line.instrument,
        "on": line.where,
        "of": list(line.places),
        **({"billing": line.billing} if line.billing else {}),
    }
