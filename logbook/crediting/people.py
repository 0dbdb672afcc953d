"""Who is meant: one person under several names, found again by any of them.

A person is known by the log's own name, by the name on the sleeve, by the full name and by other
names. Names compare without regard to capitals, spacing and spelling (`logbook.names`).
"""

from __future__ import annotations

from collections.abc import Iterable

from logbook.names import fold
from logbook.records.people import Person


def credited_name(person: Person) -> str:
    """Return the name that goes on the sleeve."""
    return person.credited_as.strip() or person.name.strip()


def has_full_name(person: Person) -> bool:
    """Tell whether the log knows a full name: one said to be, or two whole words as the name."""
    if person.full_name.strip():
        return True
    whole = [word for word in person.name.split() if len(word.rstrip(".")) > 1]
    return len(whole) >= 2


class Names:
    """Finds a person by any name they go by.

    The log's own name wins over a name on the sleeve, that over a full name, that over other
    names; a name that two people share on the same footing finds neither of them.
    """

    def __init__(self, people: Iterable[Person]) -> None:
        known = sorted(people, key=lambda person: fold(person.name))
        self._by_name: dict[str, Person | None] = {}
        for spellings in (
            [(person.name, person) for person in known],
            [(person.credited_as, person) for person in known],
            [(person.full_name, person) for person in known],
            [(other, person) for person in known for other in person.other_names],
        ):
            found: dict[str, Person | None] = {}
            for spelling, person in spellings:
                key = fold(spelling)
                same = key not in found or found[key] == person
                found[key] = person if same else None
            self._by_name = {**found, **self._by_name}

    def person(self, name: str) -> Person:
        """Return who goes by this name; somebody the log does not know has nothing but it."""
        found = self._by_name.get(fold(name)) if fold(name) else None
        return found or Person(name=" ".join(name.split()))
