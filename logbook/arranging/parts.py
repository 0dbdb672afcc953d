"""One part of the arrangement: how it gets to the key, and the part as it is then played.

Conventions. What the arrangement does not say stays as recorded. A part whose tuning or capo is
given takes the shapes that fit it; otherwise the best way is chosen, or the best of the kind that
is wanted. Takes, comps, overdubs and files belong to the record and stay there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from logbook.arranging.adaptations import (
    Adaptation,
    choose_way,
    signed_steps,
    way_under,
    ways_to_key,
)
from logbook.arranging.charts import (
    distinct_labels,
    is_another_chord,
    move_chart,
    move_techniques,
)
from logbook.arranging.hands import (
    KEPT,
    Recorded,
    Setup,
    build_rig,
    recorded_voicings,
    rig_of,
)
from logbook.arranging.melodies import move_melody
from logbook.arranging.moved import Moved
from logbook.arranging.pitched import move_pitches
from logbook.arranging.refingering import part_under_way
from logbook.arranging.sections import shifts_of, with_own_charts, with_shifted
from logbook.errors import LogbookError
from logbook.records.arrangements import ArrangedPart
from logbook.records.chord_names import claimed_name, sounding_name
from logbook.records.context import by_name
from logbook.records.kits import kit_patterns
from logbook.records.part_view import PartView
from logbook.records.parts import Part, Voicing
from logbook.records.places import Tuning as TuningRecord
from logbook.strings.capo import check_capos, read_capos, write_capos


class PartPlan(NamedTuple):
    """What becomes of one part.

    `part` is the part as arranged, None where it is left out; `recorded` what it was; `way` the
    way chosen (None: as recorded, or nothing is fingered); `before` and `after` the rigs, None
    where no tuning is known; `tuning` is to be logged with it, None where it is known already.
    """

    recorded: Part
    part: Part | None
    said: ArrangedPart
    way: Adaptation | None
    before: Setup | None
    after: Setup | None
    tuning: TuningRecord | None
    remarks: tuple[str, ...]

    @property
    def name(self) -> str:
        """The part's name, on the record and in the arrangement."""
        return self.recorded.name


def plan_part(place: PartView, said: ArrangedPart, moved: Moved) -> PartPlan:
    """Work one part of the arrangement out, sections with a key or chart of their own included.

    Raises LogbookError for a capo past the body, a tuning or an instrument that is not there, or
    a way that does not lead to the key.
    """
    plan = _plan_part(place, said, moved)
    if plan.part is None:
        return plan
    part = plan.part
    for steps, passages in shifts_of(moved.form, moved.key).items():
        shifted = _shifted(place, plan, moved, steps)
        assert shifted.part is not None, "a part that is played is played in every key"
        part = with_shifted(part, shifted.part, passages, steps, moved.form)
        new = tuple(each for each in shifted.remarks if each not in plan.remarks)
        plan = plan._replace(remarks=(*plan.remarks, *new))
    part = with_own_charts(part, moved.form, place.version, plan.after)
    return plan._replace(part=part)


def _shifted(place: PartView, plan: PartPlan, moved: Moved, steps: int) -> PartPlan:
    """The whole part so many semitones above the arrangement, in the arrangement's rig."""
    said = replace(plan.said, way="")
    if plan.after is not None:
        said = replace(said, capo=write_capos(plan.after.capos) if plan.after.capos else "")
        if plan.part is not None and plan.before and plan.after.tuning != plan.before.tuning:
            said = replace(said, tuning=plan.part.tuning)
            if plan.tuning is not None:
                log = replace(place.log, tunings=(*place.log.tunings, plan.tuning))
                place = replace(place, log=log)
    key = moved.key.transpose(steps) if moved.key else None
    further = Moved(moved.old_key, key, signed_steps(moved.steps + steps), moved.form)
    return _plan_part(place, said, further)


def _plan_part(place: PartView, said: ArrangedPart, moved: Moved) -> PartPlan:
    """Work one part of the arrangement out as if all of it were in one key.

    Raises LogbookError for a capo past the body, a tuning or an instrument that is not there, or
    a way that does not lead to the key.
    """
    if said.left_out:
        return PartPlan(place.part, None, said, None, None, None, None, ())
    remarks: list[str] = []
    before = _rig_or_remark(place, remarks)
    place = replace(place, part=_named_as_heard(place, before))
    part = place.part
    candidate = replace(
        part,
        player=said.player or part.player,
        instrument=said.instrument or part.instrument,
        notes="; ".join(filter(None, (part.notes, said.notes))),
    )
    if before is None:
        candidate = _moved_words(candidate, moved, None)
        candidate = move_pitches(place, candidate, moved, remarks)
        candidate = move_melody(place, candidate, moved, remarks)
        return PartPlan(part, candidate, said, None, None, None, None, tuple(remarks))
    recorded, problems = recorded_voicings(part, before, moved.old_key)
    remarks += problems
    given = _given_rig(place, said, before)
    way = _way(recorded, before, given, said, moved, part.name)
    candidate = _moved_words(candidate, moved, way)
    candidate = move_pitches(place, candidate, moved, remarks)
    candidate = move_melody(place, candidate, moved, remarks)
    if way is None:
        return PartPlan(part, candidate, said, None, before, before, None, tuple(remarks))
    arranged, tuning = part_under_way(candidate, part, way, before, recorded, moved, place, said)
    return PartPlan(part, arranged, said, way, before, way.rig, tuning, tuple(remarks))


def _named_as_heard(place: PartView, rig: Setup | None) -> Part:
    """The part with each voicing called what sounds; a label that says otherwise goes."""
    part = place.part
    if rig is None:
        return part
    names = {
        each.label: sounding_name(each, part, rig.tuning, rig.capos, place.version.key)
        for each in part.voicings
    }
    wrong = {
        each.label
        for each in part.voicings
        if not each.name and claimed_name(each) and names[each.label] != each.label
    }
    labels = distinct_labels(
        {label: name if label in wrong else label for label, name in names.items()}
    )
    return replace(
        part,
        voicings=tuple(
            replace(
                each,
                label=labels[each.label],
                name="" if labels[each.label] == names[each.label] else names[each.label],
            )
            if names[each.label] != (each.name or each.label)
            else each
            for each in part.voicings
        ),
        chart=tuple(
            replace(each, voicing=labels.get(each.voicing, each.voicing)) for each in part.chart
        ),
    )


def part_adaptations(place: PartView, moved: Moved) -> tuple[Adaptation, ...]:
    """Return every way to the key, ranked, for a part that has a tuning.

    Raises LogbookError where nobody said one, or nothing is fingered.
    """
    rig = rig_of(place)
    if rig is None or not place.part.voicings:
        what = "no tuning" if rig is None else "no voicings"
        raise LogbookError(
            f"{place.title} has {what}", "ways to a key are worked out for fretted parts"
        )
    recorded, problems = recorded_voicings(place.part, rig, moved.old_key)
    if problems:
        raise LogbookError(problems[0], "fix it first")
    return ways_to_key(recorded, rig, moved.steps, moved.key)


def _rig_or_remark(place: PartView, remarks: list[str]) -> Setup | None:
    try:
        rig = rig_of(place)
    except LogbookError as error:
        remarks.append(f"{place.part.name}: {error}; its shapes stay as they are")
        return None
    if rig is None and any(each.frets for each in place.part.voicings):
        remarks.append(f"{place.part.name} has no tuning, so its shapes stay as they are")
    return rig


def _given_rig(place: PartView, said: ArrangedPart, before: Setup) -> Setup | None:
    """The rig that the arrangement names, None where it names none."""
    if said.capo is None and not said.tuning and not said.instrument:
        return None
    instrument = by_name(place.log.instruments, said.instrument or place.part.instrument)
    if said.instrument and instrument is None:
        raise LogbookError(
            f'{place.part.name} is to be played on "{said.instrument}", which is not in the log',
            "add the instrument, or name one that is there",
        )
    tuning = before.tuning
    if said.tuning or said.instrument:
        name = said.tuning or _kept_tuning(place, said, before)
        there = replace(place.part, instrument=said.instrument, tuning=name)
        found = replace(place, part=there).tuning
        tuning = found or before.tuning
    capos = before.capos if said.capo is None else read_capos(said.capo)
    rig = build_rig(tuning, capos, instrument)
    if said.capo is not None:
        try:
            check_capos(capos, tuning, clear_frets=rig.clear_frets)
        except LogbookError as error:
            raise LogbookError(f"{place.part.name}: {error.problem}", error.remedy) from error
    return rig


def _kept_tuning(place: PartView, said: ArrangedPart, before: Setup) -> str:
    """The part's own tuning, where the other instrument has as many strings."""
    instrument = by_name(place.log.instruments, said.instrument)
    if instrument is None or not place.part.tuning:
        return ""
    strings = instrument.strings
    if strings is None and instrument.tuning:
        there = replace(place.part, instrument=said.instrument, tuning="")
        usual = replace(place, part=there).tuning
        strings = len(usual) if usual else None
    return place.part.tuning if strings in (None, len(before.tuning)) else ""


def _way(
    recorded: tuple[Recorded, ...],
    before: Setup,
    given: Setup | None,
    said: ArrangedPart,
    moved: Moved,
    name: str,
) -> Adaptation | None:
    key = moved.key.name if moved.key else "the key"
    if given is not None:
        way = way_under(recorded, before, given, moved.steps, moved.key)
        if not way.possible:
            raise LogbookError(f"{name} cannot be played with {way.text}: {way.why}", "")
        if said.way and recorded and said.way != way.kind:
            best = choose_way(
                ways_to_key(recorded, before, moved.steps, moved.key), said.way, name, key
            )
            raise LogbookError(
                f"{name} does not get to {key} with {said.way} and {way.text.partition(', ')[2]}",
                f"it does with {best.text}",
            )
        return way
    if not recorded or (not moved.steps and not said.way):
        return None
    thorough = bool(said.way)
    return choose_way(
        ways_to_key(recorded, before, moved.steps, moved.key, thorough=thorough),
        said.way, name, key,
    )  # fmt: skip


# The part as it is then played


def _moved_words(part: Part, moved: Moved, way: Adaptation | None) -> Part:
    """Chart, names and notes moved along; what belongs to the record left there."""
    labels = _labels(part, moved, way)
    return replace(
        part,
        voicings=tuple(_renamed(each, labels, moved) for each in part.voicings),
        chart=move_chart(part.chart, moved.form, labels),
        technique_notes=move_techniques(part.technique_notes, moved.form),
        heard=None,
        takes=(),
        comps=(),
        votes=(),
        overdubs=(),
        reused=(),
        files=(),
    )


def _labels(part: Part, moved: Moved, way: Adaptation | None) -> dict[str, str]:
    """The new label of each voicing.

    One that is a chord beside another name that sounds is what the hand is called: it stays with
    the hand, and a new hand goes by what it sounds.
    """
    anew = {hand.label for hand in way.hands if hand.state != KEPT} if way else set()
    names = {}
    kit = kit_patterns(part)
    for each in part.voicings:
        text = each.label
        if text in kit:
            names[text] = text  # a pattern of the kit may be called A without being a chord
            continue
        if each.name and is_another_chord(each.label, each.name):
            if each.label not in anew:
                names[each.label] = text
                continue
            text = each.name
        names[each.label] = moved.name(text)
    return distinct_labels(names)


def _renamed(voicing: Voicing, labels: dict[str, str], moved: Moved) -> Voicing:
    name = voicing.name
    if not name and not claimed_name(replace(voicing, label=labels[voicing.label])):
        # A label that had to be told apart by a number names no chord any more.
        name = claimed_name(voicing)
    return replace(voicing, label=labels[voicing.label], name=moved.name(name))
