"""What a fact comes to: a page changed, and an answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from logbook.notebook.lines import facts
from logbook.notebook.lines.mean_comps import mean_comp
from logbook.notebook.lines.mean_hands import (
    mean_chart,
    mean_form,
    mean_meter,
    mean_pattern,
    mean_tempo,
    mean_version_field,
    mean_voicings,
)
from logbook.notebook.lines.mean_paper import mean_entry
from logbook.notebook.lines.mean_places import (
    mean_note,
    mean_part,
    mean_person,
    mean_session,
    mean_setting,
    mean_song,
    mean_version,
)
from logbook.notebook.lines.mean_takes import mean_take
from logbook.notebook.lines.page import LineOutcome, Page

_MEANINGS: dict[type[Any], Callable[[Any, Page], None]] = {
    facts.SongSaid: mean_song,
    facts.VersionSaid: mean_version,
    facts.SessionSaid: mean_session,
    facts.PersonSaid: mean_person,
    facts.PartSaid: mean_part,
    facts.Setting: mean_setting,
    facts.DoubleSaid: mean_setting,
    facts.OverdubSaid: mean_setting,
    facts.TempoSaid: mean_tempo,
    facts.MeterSaid: mean_meter,
    facts.VersionField: mean_version_field,
    facts.FormSaid: mean_form,
    facts.VoicingsSaid: mean_voicings,
    facts.ChartSaid: mean_chart,
    facts.PatternSaid: mean_pattern,
    facts.TakeSaid: mean_take,
    facts.CompSaid: mean_comp,
    facts.NoteSaid: mean_note,
    facts.EntrySaid: mean_entry,
}


def mean(fact: facts.Fact, page: Page) -> LineOutcome:
    """Change the page as the fact says. Raises LogbookError where it cannot be so."""
    for each in fact.facts if isinstance(fact, facts.Several) else (fact,):
        _MEANINGS[type(each)](each, page)
    return page.outcome()
