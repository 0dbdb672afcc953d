"""What a release says of its rights and of when the work was done.

Conventions. A phonogram line and a copyright line each name a year and an owner ("2026 Slack Water
Records"); the signs in front, (P) and (C), are put there in print and may be typed. A time of work
is ISO 8601 with its distance from UTC ("2026-05-02T10:00+02:00"), since a clock time alone means
nothing in another country.
"""

from __future__ import annotations

import re
from datetime import datetime

from logbook.crediting.errors import CreditError

_LINE = re.compile(r"(?:[\u2117\u00a9]|\([pPcC]\))?\s*(?P<year>[0-9]{4})\s+(?P<owner>\S.*)", re.S)


def read_rights(text: str) -> str:
    """Return a rights line as it is kept: "2026 Slack Water Records".

    Raises CreditError for text without a year and an owner.
    """
    found = _LINE.fullmatch(text.strip())
    if found is None:
        raise CreditError(
            f"{text.strip()[:60]!r} does not name a year and an owner",
            "write it as in 2026 Slack Water Records",
        )
    return f"{found['year']} {' '.join(found['owner'].split())}"


def read_moment(text: str) -> str:
    """Return a time of work as it is kept: "2026-05-02T10:00+02:00".

    Raises CreditError for text that is no time, or has no time zone.
    """
    plain = " ".join(text.split()).replace(" +", "+").replace(" -", "-").replace(" Z", "Z")
    try:
        found = datetime.fromisoformat(plain)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None or ":" not in plain:
        raise CreditError(
            f"{text.strip()[:60]!r} is not a time with a time zone",
            "write it as in 2026-05-02 10:00 +02:00, or with Z for UTC",
        )
    return found.isoformat(timespec="minutes")
