"""Melody, silence, votes, hours and inputs typed as notebook lines come into the log."""

from __future__ import annotations

from collections.abc import Callable

from logbook.records import Hours, InputChannel, Melody, Vote
from tests.notebook.lines.test_log_lines import log_of, write

DAY = """\
song Saltpan Road
A 8 bars, B 8 bars, A
session Harbour loft, 2026-05-02
part sax, Oda
melody B: E4/8 F# G4/4 A4/2 | B4/1
melody B: E4/8 F# G4/4 A4/2
melody 12.3: B4/2
tacet A2
t1 keeper 1-16
vote Mira Holt: 9-12 t1 good; phrase down by the slip
hours Mira Holt 10:00-18:30; break 45 min
input 3 snare; mic small dynamic; track 3
"""


def test_a_day_s_lines_are_kept_as_the_session_file_keeps_them(
    fresh: Callable[[], str],
) -> None:
    db = fresh()
    answers = write(db, DAY)
    assert all(each.read for each in answers), [each for each in answers if not each.read]
    log = log_of(db)
    (part,) = log.songs[0].versions[0].parts
    assert part.melody == (
        Melody(bar=9, tune="E4/8 F#4 G4/4 A4/2"),
        Melody(bar=12, beat="3", tune="B4/2"),
    )
    assert part.tacet == "A2"
    (vote,) = part.votes
    assert vote == Vote(
        bars="9-12", take=1, person="Mira Holt", rating="good", phrase="down by the slip",
        session=vote.session,
    )  # fmt: skip
    (session,) = log.sessions
    assert session.hours == (
        Hours(person="Mira Holt", started_at="2026-05-02 10:00", ended_at="18:30", breaks="45 min"),
    )
    assert session.inputs == (
        InputChannel(channel="3", source="snare", microphone="small dynamic", track="3"),
    )
    assert "Mira Holt" in [each.name for each in log.people]
