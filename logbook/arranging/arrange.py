"""An arrangement worked out: the version as it will be played, and what was found on the way.

The result holds a plain version, beside the recorded one in a copy of the log, so that sheets,
files and checks made for versions can be made of an arrangement as they are.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

from logbook.arranging.form import ArrangedForm, Passage, arrange_form
from logbook.arranging.moved import Moved, steps_between
from logbook.arranging.parts import PartPlan, plan_part
from logbook.arranging.road_words import passage_words, vamps_of
from logbook.arranging.tempos import ArrangedTime, arrange_time
from logbook.arranging.words import move_words
from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.arrangements import ArrangedPart, Arrangement
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.parts import Part
from logbook.records.songs import FormSection, Song, Version
from logbook.theory.keys import Key, parse_key
from logbook.theory.pitch import midi_to_name, name_to_midi

__all__ = ["ArrangedVersion", "arrange", "find_version", "moved_key"]


class ArrangedVersion(NamedTuple):
    """An arrangement worked out.

    `version` is what is played, `recorded` what it comes from; `log` and `song` hold both.
    `steps` is how far the key moves, -6 to 5 semitones; the keys are None where the record's is
    not said. `parts` are the plans in the version's order, left out ones too. `charted` is the
    part whose chords are read by those that have no chart of their own, None where there is none;
    it stays when the arrangement is narrowed to some of its parts.
    """

    log: Log
    song: Song
    recorded: Version
    version: Version
    arrangement: Arrangement
    form: ArrangedForm
    time: ArrangedTime
    old_key: Key | None
    key: Key | None
    steps: int
    parts: tuple[PartPlan, ...]
    remarks: tuple[str, ...]
    charted: Part | None = None

    def place(self, part: Part) -> PartView:
        """A part of the arranged version where it stands."""
        return PartView(self.log, self.song, self.version, part)

    @property
    def title(self) -> str:
        """Song, version and arrangement as a heading names them."""
        return f"{self.song.title}, {self.version.name}"


def arrange(log: Log, song: Song, version: Version, arrangement: Arrangement) -> ArrangedVersion:
    """Work an arrangement of a version out.

    Raises LogbookError, in one sentence, for whatever the arrangement says that cannot be: a
    tempo that never moves, a key that does not exist, a section that is not in the form, a part
    that is not on the version, a capo past the body.
    """
    form = arrange_form(version, arrangement.sections)
    time = arrange_time(version, form, arrangement)
    old_key, key = moved_key(version, arrangement.key)
    moved = Moved(old_key, key, steps_between(old_key, key), form)
    said = _said(version, arrangement)
    plans = tuple(
        plan_part(
            PartView(log, song, version, part),
            said.get(part.name, ArrangedPart(part=part.name)),
            moved,
        )
        for part in version.parts
    )
    plans = tuple(_with_doubles(plan, plans) for plan in plans)
    arranged = _version(version, arrangement, form, time, moved, plans)
    taken = {tuning.name for tuning in log.tunings}
    tunings = {p.tuning.name: p.tuning for p in plans if p.tuning and p.tuning.name not in taken}
    with_both = replace(
        song, versions=(*(v for v in song.versions if v.name != arranged.name), arranged)
    )
    return ArrangedVersion(
        log=replace(
            log,
            tunings=(*log.tunings, *tunings.values()),
            songs=tuple(with_both if each.title == song.title else each for each in log.songs),
        ),
        song=with_both,
        recorded=version,
        version=arranged,
        arrangement=arrangement,
        form=form,
        time=time,
        old_key=old_key,
        key=key,
        steps=moved.steps,
        parts=plans,
        remarks=(*_remarks(version, form), *(r for plan in plans for r in plan.remarks)),
        charted=_charted(plans, log, song, version, moved),
    )


def _charted(
    plans: tuple[PartPlan, ...], log: Log, song: Song, version: Version, moved: Moved
) -> Part | None:
    """The first part that is played and has a chart; else one that is left out and has one."""
    for plan in plans:
        if plan.part is not None and plan.part.chart:
            return plan.part
    for plan in plans:
        if plan.part is None and plan.recorded.chart:
            with suppress(LogbookError):
                part = plan.recorded
                place = PartView(log, song, version, part)
                return plan_part(place, ArrangedPart(part=part.name), moved).part
    return None


def find_version(song: Song, name: str = "") -> Version:
    """The song's version of this name, or its only one.

    Raises LogbookError where it has none of that name, or several and none is named.
    """
    names = ", ".join(each.name for each in song.versions)
    if not name and len(song.versions) == 1:
        return song.versions[0]
    for each in song.versions:
        if name and alike(each.name, name):
            return each
    if not song.versions:
        raise LogbookError(f"{song.title} has no version yet", "add one first")
    if not name:
        raise LogbookError(f"{song.title} has {len(song.versions)} versions", f"say which: {names}")
    raise LogbookError(f'{song.title} has no version "{name}"', f"it has {names}")


def moved_key(version: Version, wanted: str) -> tuple[Key | None, Key | None]:
    """The record's key and the arrangement's.

    Raises LogbookError for a key that does not exist, one in the other mode, or one wanted where
    the record's is not said.
    """
    old = parse_key(version.key) if version.key else None
    if not wanted:
        return old, old
    new = parse_key(wanted)
    if old is None:
        raise LogbookError(
            f"the way to {new.name} is unknown: the version has no key",
            f"set the key of {version.name} first",
        )
    if old.mode != new.mode:
        same_tonic = old.transpose((new.pitch_class - old.pitch_class) % 12)
        raise LogbookError(
            f"the recording is in {old.name}, and moving it along never makes it {new.mode}",
            f"write a {old.mode} key, such as {same_tonic.name}",
        )
    return old, new


def _said(version: Version, arrangement: Arrangement) -> dict[str, ArrangedPart]:
    names = [part.name for part in version.parts]
    said: dict[str, ArrangedPart] = {}
    for each in arrangement.parts:
        if each.part not in names:
            raise LogbookError(
                f'{version.name} has no part "{each.part}"',
                f"it has {', '.join(names)}" if names else "it has none yet",
            )
        said[each.part] = each
    return said


def _with_doubles(plan: PartPlan, plans: tuple[PartPlan, ...]) -> PartPlan:
    """Say of a doubled part that its double is left out."""
    if plan.part is None or not plan.part.doubles:
        return plan
    out = {each.name for each in plans if each.part is None}
    there = tuple(double for double in plan.part.doubles if double.part not in out)
    if len(there) == len(plan.part.doubles):
        return plan
    gone = ", ".join(double.part for double in plan.part.doubles if double.part in out)
    remark = f"{plan.name} was doubled by {gone}, which is left out"
    part = replace(plan.part, doubles=there)
    if not there:
        part = replace(part, doubled="not doubled", doubled_why=f"{gone} is left out")
    return plan._replace(part=part, remarks=(*plan.remarks, remark))


def _version(
    version: Version,
    arrangement: Arrangement,
    form: ArrangedForm,
    time: ArrangedTime,
    moved: Moved,
    plans: tuple[PartPlan, ...],
) -> Version:
    return replace(
        version,
        name=f"{version.name}, {arrangement.name}" if arrangement.name else version.name,
        key=moved.key.short if moved.key else version.key,
        pickup_beats=time.pickup_beats,
        isrc="",
        date="",
        bar_one_at="",
        melody_low=_note(version.melody_low, moved),
        melody_high=_note(version.melody_high, moved),
        notes=arrangement.notes,
        meters=time.meters if version.meters or not form.is_recorded else (),
        tempos=time.tempos,
        form=tuple(_section(each, version) for each in form.passages),
        lyrics=move_words(version.lyrics, form),
        parts=tuple(plan.part for plan in plans if plan.part is not None),
        roles=(),
        files=(),
        arrangements=(),
    )


def _note(name: str, moved: Moved) -> str:
    if not name or not moved.changes_names:
        return name
    return midi_to_name(name_to_midi(name) + moved.steps, moved.key)


def _section(passage: Passage, version: Version) -> FormSection:
    said = passage.said
    if said is None:
        return next(each for each in version.form if each.start == passage.start)
    vamp = ""
    if passage.vamp:
        vamp = "vamp till cue" + (f", {said.cue}" if said.cue else "")
    elif said.cue:
        vamp = f"cue: {said.cue}"
    notes = "; ".join(filter(None, (vamp, *passage_words(passage), said.notes)))
    return FormSection(name=passage.name, start=passage.start, bars=passage.bars, notes=notes)


def _remarks(version: Version, form: ArrangedForm) -> list[str]:
    remarks = []
    if version.pickup_beats and 0 not in form.origins:
        remarks.append(
            "the pick-up is left out, since the form does not begin where the recording does"
        )
    new = [
        each
        for each in form.passages
        if each.number == 1 and each.origins[0] is None and not each.moves.chart
    ]
    remarks += [
        f"{each.name} is new: {each.bars} {'bar' if each.bars == 1 else 'bars'} that no part has "
        "a chart for"
        for each in new
    ]
    vamps = vamps_of(form)
    if vamps:
        remarks.append(
            f"{' and '.join(vamps)}: a vamp of open length, counted once in lengths and files"
        )
    return remarks
