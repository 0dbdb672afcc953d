"""One part of the arrangement: how it gets to the key, and the part as it is then played.

Conventions. What the arrangement does not say stays as recorded. A part whose tuning or capo is
given takes the shapes that fit it; otherwise the best way is chosen, or the best of the kind that
is wanted. Takes, comps, overdubs and files belong to the record and stay there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from logbook.arranging.adaptations import (
    RETUNED,
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
    move_name,
    move_techniques,
)
from logbook.arranging.form import ArrangedForm
from logbook.arranging.hands import (
    KEPT,
    MOVED,
    Hand,
    Recorded,
    Setup,
    build_rig,
    recorded_voicings,
    rig_of,
)
from logbook.arranging.sections import shifts_of, with_own_charts, with_shifted
from logbook.errors import LogbookError
from logbook.records.arrangements import ArrangedPart
from logbook.records.chord_names import claimed_name, sounding_name
from logbook.records.context import PartPlace, by_name, tuning_of
from logbook.records.parts import Part, Voicing
from logbook.records.places import Tuning as TuningRecord
from logbook.strings.capo import check_capos, read_capos, whole_capo, write_capos
from logbook.strings.fingering import propose_fingers
from logbook.strings.frets import CAPO, Position, count_frets, write_fingers
from logbook.strings.ornaments import read_ornaments, write_ornaments
from logbook.strings.tunings import StringTuning, find_tuning
from logbook.theory.keys import Key


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


class Moved(NamedTuple):
    """Where the arrangement goes: the key it arrives in, how far, and the form.

    `key` is None where the record's is not known; `steps` are semitones, -6 to 5.
    """

    old_key: Key | None
    key: Key | None
    steps: int
    form: ArrangedForm

    @property
    def changes_names(self) -> bool:
        """Whether chords are called something else, be it only spelled otherwise."""
        return self.old_key != self.key or bool(self.steps)

    def name(self, text: str) -> str:
        """A chord name as it is called where the arrangement goes."""
        if not self.changes_names:
            return text
        return move_name(text, self.steps, self.key, self.old_key)


def plan_part(place: PartPlace, said: ArrangedPart, moved: Moved) -> PartPlan:
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
        part = with_shifted(part, shifted, passages, steps, moved.form)
    part = with_own_charts(part, moved.form, place.version, plan.after)
    return plan._replace(part=part)


def _shifted(place: PartPlace, plan: PartPlan, moved: Moved, steps: int) -> Part:
    """The whole part so many semitones above the arrangement, in the arrangement's rig."""
    said = replace(plan.said, way="")
    if plan.after is not None:
        said = replace(said, capo=write_capos(plan.after.capos) if plan.after.capos else "")
        if plan.part is not None and plan.before and plan.after.tuning != plan.before.tuning:
            said = replace(said, tuning=plan.part.tuning)
            if plan.tuning is not None:
                log = replace(place.log, tunings=(*place.log.tunings, plan.tuning))
                place = place._replace(log=log)
    key = moved.key.transpose(steps) if moved.key else None
    further = Moved(moved.old_key, key, signed_steps(moved.steps + steps), moved.form)
    shifted = _plan_part(place, said, further).part
    assert shifted is not None, "a part that is played is played in every key"
    return shifted


def _plan_part(place: PartPlace, said: ArrangedPart, moved: Moved) -> PartPlan:
    """Work one part of the arrangement out as if all of it were in one key.

    Raises LogbookError for a capo past the body, a tuning or an instrument that is not there, or
    a way that does not lead to the key.
    """
    if said.left_out:
        return PartPlan(place.part, None, said, None, None, None, None, ())
    remarks: list[str] = []
    before = _rig_or_remark(place, remarks)
    place = place._replace(part=_named_as_heard(place, before))
    part = place.part
    candidate = replace(
        part,
        player=said.player or part.player,
        instrument=said.instrument or part.instrument,
        notes="; ".join(filter(None, (part.notes, said.notes))),
    )
    if before is None:
        candidate = _moved_words(candidate, moved, None)
        return PartPlan(part, candidate, said, None, None, None, None, tuple(remarks))
    recorded, problems = recorded_voicings(part, before, moved.old_key)
    remarks += problems
    given = _given_rig(place, said, before)
    way = _way(recorded, before, given, said, moved, part.name)
    candidate = _moved_words(candidate, moved, way)
    if way is None:
        return PartPlan(part, candidate, said, None, before, before, None, tuple(remarks))
    arranged, tuning = _played(candidate, part, way, before, recorded, moved, place, said)
    return PartPlan(part, arranged, said, way, before, way.rig, tuning, tuple(remarks))


def _named_as_heard(place: PartPlace, rig: Setup | None) -> Part:
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


def part_adaptations(place: PartPlace, moved: Moved) -> tuple[Adaptation, ...]:
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
        raise LogbookError(problems[0], "mend it first")
    return ways_to_key(recorded, rig, moved.steps, moved.key)


def _rig_or_remark(place: PartPlace, remarks: list[str]) -> Setup | None:
    try:
        rig = rig_of(place)
    except LogbookError as error:
        remarks.append(f"{place.part.name}: {error}; its shapes stay as they are")
        return None
    if rig is None and place.part.voicings:
        remarks.append(f"{place.part.name} has no tuning, so its shapes stay as they are")
    return rig


def _given_rig(place: PartPlace, said: ArrangedPart, before: Setup) -> Setup | None:
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
        found = tuning_of(
            place._replace(part=replace(place.part, instrument=said.instrument, tuning=name))
        )
        tuning = found or before.tuning
    capos = before.capos if said.capo is None else read_capos(said.capo)
    rig = build_rig(tuning, capos, instrument)
    if said.capo is not None:
        try:
            check_capos(capos, tuning, clear_frets=rig.clear_frets)
        except LogbookError as error:
            raise LogbookError(f"{place.part.name}: {error.problem}", error.remedy) from error
    return rig


def _kept_tuning(place: PartPlace, said: ArrangedPart, before: Setup) -> str:
    """The part's own tuning, where the other instrument has as many strings."""
    instrument = by_name(place.log.instruments, said.instrument)
    if instrument is None or not place.part.tuning:
        return ""
    strings = instrument.strings
    if strings is None and instrument.tuning:
        usual = tuning_of(
            place._replace(part=replace(place.part, instrument=said.instrument, tuning=""))
        )
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
    for each in part.voicings:
        text = each.label
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


def _played(
    candidate: Part,
    part: Part,
    way: Adaptation,
    before: Setup,
    recorded: tuple[Recorded, ...],
    moved: Moved,
    place: PartPlace,
    said: ArrangedPart,
) -> tuple[Part, TuningRecord | None]:
    """The part under the chosen way, and a tuning that has to be logged with it."""
    hands = {hand.label: hand for hand in way.hands}
    places = {each.label: each.position for each in recorded}
    voicings = tuple(
        _fingered(new, old, hands.get(old.label), places.get(old.label), candidate, way, before)
        for new, old in zip(candidate.voicings, part.voicings, strict=True)
    )
    tuning_name, logged = part.tuning, None
    if way.rig.tuning != before.tuning:
        tuning_name, logged = _tuning_name(way.rig.tuning, said, place)
    return (
        replace(
            candidate,
            voicings=voicings,
            capo=write_capos(way.rig.capos) if way.rig.capos else "",
            tuning=tuning_name,
            shape_key=_shape_key(part, way, moved),
        ),
        logged,
    )


def _tuning_name(
    tuning: StringTuning, said: ArrangedPart, place: PartPlace
) -> tuple[str, TuningRecord | None]:
    """The name the tuning goes by in the log, and its record where it has none yet."""
    if said.tuning:
        return said.tuning, None
    for known in place.log.tunings:
        if known.strings == tuning.text and known.a4_hz == tuning.a4_hz:
            return known.name, None
    taken = {known.name for known in place.log.tunings}
    if tuning.name not in taken and tuning.a4_hz == place.version.a4_hz and _is_usual(tuning):
        return tuning.name, None
    name = tuning.name if tuning.name not in taken else f"{tuning.name} ({tuning.text})"
    return name, TuningRecord(
        name=name, strings=tuning.text, a4_hz=tuning.a4_hz, offset_cents=tuning.offset_cents
    )


def _is_usual(tuning: StringTuning) -> bool:
    try:
        return find_tuning(tuning.name).text == tuning.text and not tuning.offset_cents
    except LogbookError:
        return False


def _shape_key(part: Part, way: Adaptation, moved: Moved) -> str:
    """The key the hands think in; not said where the strings are tuned to something else."""
    if way.kind == RETUNED:
        return ""
    if all(hand.state == KEPT for hand in way.hands):
        return part.shape_key
    whole = whole_capo(way.rig.tuning, way.rig.capos)
    if moved.key is None or whole is None:
        return ""
    return moved.key.transpose(-whole).short


def _fingered(
    new: Voicing,
    old: Voicing,
    hand: Hand | None,
    before: Position | None,
    part: Part,
    way: Adaptation,
    rig: Setup,
) -> Voicing:
    """The voicing's line, fingers and the rest as the hand now has it."""
    if hand is None or hand.position is None or before is None:
        return new
    counted = old.counted or part.counted
    if hand.state == KEPT and count_frets(hand.position, counted) == count_frets(before, counted):
        return new
    frets = count_frets(hand.position, counted).text
    if hand.state == KEPT and counted == CAPO:
        frets = old.frets
    if hand.state in (KEPT, MOVED):
        return replace(new, frets=frets, ornaments=_ornaments(old, before, hand, counted))
    fingers = propose_fingers(hand.position)
    note = f"on the record with {old.ornaments}" if old.ornaments else ""
    return replace(
        new,
        frets=frets,
        fingers=write_fingers(fingers) if fingers and any(fingers) else "",
        avoid="",
        ring="",
        ornaments="",
        notes="; ".join(filter(None, (old.notes, note))),
    )


def _ornaments(old: Voicing, before: Position, hand: Hand, counted: str) -> str:
    """Ornaments moved as far as their strings are; frets counted as the voicing's are."""
    if not old.ornaments or hand.position is None:
        return old.ornaments
    count = len(before)
    moved = []
    for each in read_ornaments(old.ornaments):
        was, now = before[count - each.string], hand.position[count - each.string]
        by = 0
        if was is not None and now is not None:
            by = now.fret - was.fret
            if counted == CAPO:
                by -= now.stop - was.stop
        # 0 is the open string in either count, and stays so.
        start, end = (fret + by if fret else 0 for fret in (each.start, each.end))
        if start < 0 or end < 0 or (start == end and each.start != each.end):
            continue
        moved.append(each._replace(start=start, end=end))
    return write_ornaments(tuple(moved))


def steps_between(old: Key | None, new: Key | None) -> int:
    """How far a key is from another, -6 to 5 semitones; 0 where one is not known."""
    if old is None or new is None:
        return 0
    return signed_steps(new.pitch_class - old.pitch_class)
