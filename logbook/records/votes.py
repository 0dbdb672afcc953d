"""What somebody thought of a take for one section, phrase or line of the words."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import needed, noted, written


@dataclass(frozen=True, kw_only=True)
class Vote:
    """One word on one take of the part this stands in.

    `bars` is a range of bars; `phrase` the words sung there or what the place is called. `take` is
    a number, with its `session` where the number alone is not enough. `rating` is "best", "good",
    "fair" or "poor"; `person` is empty where it is nobody's in particular. Takes are named by
    number as a comp names them, so the log can hold a mistaken one until it is mended.
    """

    bars: str = field(
        metadata=needed("which bars, a section or a line of the words", "9-12", "_vote_bars")
    )
    take: int = field(metadata=needed("which take", "3", "take_number"))
    rating: str = written("best", "best, good, fair or poor", "good", "_rating", always=True)
    person: str = written(
        "",
        "who thinks so (empty: nobody in particular)",
        "Ada Fenrush",
        lambda on: on.known("person"),
        stored=">person",
    )
    session: str = written(
        "", "the session of the take, where numbers start again", "day two", "session",
        stored=">session",
    )  # fmt: skip
    phrase: str = written("", "the words, or what the place is called", "down by the slip", "text")
    notes: str = noted()
