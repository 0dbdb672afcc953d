"""An arrangement as plain data: what the lines of `report` say, for programs.

Seconds are numbers, tempos text as people type them, rooms and intervals semitones.
"""

from __future__ import annotations

from typing import Any

from logbook.arranging.adaptations import Adaptation
from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import differences, kept_text, tempo_text
from logbook.arranging.lengths import backing_of, delay_times, lengths_of, paces_of
from logbook.arranging.parts import PartPlan
from logbook.arranging.road_words import passage_words
from logbook.arranging.singers import SingersAnswer, SingersKey
from logbook.arranging.transposing import written_chart
from logbook.records.context import meters_of
from logbook.strings.frets import CAPO, NUT, count_frets


def to_data(arranged: ArrangedVersion) -> dict[str, Any]:
    """The whole arrangement as plain data; seconds as numbers, tempos as text."""
    data: dict[str, Any] = {
        "song": arranged.song.title,
        "version": arranged.recorded.name,
        "arrangement": arranged.arrangement.name,
        "purpose": arranged.arrangement.purpose,
        "notes": arranged.arrangement.notes,
        "key": arranged.key.name if arranged.key else None,
        "recorded_key": arranged.old_key.name if arranged.old_key else None,
        "semitones": arranged.steps,
        "tempo": tempo_text(arranged.version) or None,
        "recorded_tempo": tempo_text(arranged.recorded) or None,
        "meters": [
            {"bar": each.bar, "meter": str(each.meter)} for each in meters_of(arranged.version)
        ],
        "count_in_bars": arranged.arrangement.count_in_bars,
        "form": [
            {
                "name": each.name,
                "bars": f"{each.start}-{each.end - 1}",
                "pass": each.number,
                "times": each.times,
                "vamp": each.vamp,
                "moves": list(passage_words(each)),
                "recorded_bars": list(each.origins),
            }
            for each in arranged.form.passages
        ],
        "parts": [_part_data(plan, arranged) for plan in arranged.parts],
        "differences": [each._asdict() for each in differences(arranged)],
        "remarks": list(arranged.remarks),
    }
    if arranged.version.tempos:
        data |= _time_data(arranged)
    return data


def _time_data(arranged: ArrangedVersion) -> dict[str, Any]:
    lengths, backing = lengths_of(arranged), backing_of(arranged)
    return {
        "seconds": round(float(lengths.total), 6),
        "recorded_seconds": None if lengths.recorded is None else round(float(lengths.recorded), 6),
        "vamps": list(lengths.vamps),
        "sections": [
            {
                "name": each.name,
                "seconds": round(float(each.seconds), 6),
                "recorded_seconds": None
                if each.recorded is None
                else round(float(each.recorded), 6),
                "vamp": each.vamp,
            }
            for each in lengths.sections
        ],
        "backing": None
        if backing is None
        else {
            "stretch_factor": float(backing.factor),
            "cents_if_only_played_at_speed": round(backing.cents, 3),
            "cents_for_key": backing.for_key_cents,
        },
        "note_values_ms": {
            each.name: round(float(each.milliseconds), 3) for each in delay_times(arranged)
        },
        "strokes_a_second": [each._asdict() for each in paces_of(arranged)],
    }


def _part_data(plan: PartPlan, arranged: ArrangedVersion) -> dict[str, Any]:
    if plan.part is None:
        return {"part": plan.name, "left_out": True}
    chart = written_chart(arranged, plan)
    return {
        "part": plan.name,
        "left_out": False,
        "player": plan.part.player,
        "instrument": plan.part.instrument,
        "tuning": plan.after.tuning.name if plan.after else plan.part.tuning,
        "strings": plan.after.tuning.text if plan.after else "",
        "capo": plan.part.capo or "0",
        "way": way_data(plan.way) if plan.way else None,
        "kept": kept_text(plan.way.kept, len(plan.way.hands)) if plan.way else "",
        "voicings": [
            {
                "label": each.label,
                "frets": each.frets,
                "pitches": each.pitches,
                "counted": each.counted or plan.part.counted,
                "fingers": each.fingers,
            }
            for each in plan.part.voicings
        ],
        "chords_of": chart.chords_of,
        "written_key": chart.key,
        "written_semitones_above": chart.interval.semitones,
        "chart": [each._asdict() for each in chart.chords],
    }


def way_data(way: Adaptation) -> dict[str, Any]:
    """A way as plain data."""
    return {
        "way": way.kind,
        "text": way.text,
        "possible": way.possible,
        "why": way.why,
        "capo": way.capo,
        "shape_key": way.shape_key,
        "barres": way.barres,
        "tuning": way.rig.tuning.name,
        "strings": way.rig.tuning.text,
        "retuned_semitones": way.retuned,
        "sounds_semitones_from_record": way.steps,
        "kept": way.kept,
        "voicings": len(way.hands),
        "open_strings": way.open_strings,
        "widest_stretch_mm": round(way.stretch_mm, 1),
        "highest_fret": way.highest_fret,
        "frets": [
            {
                "voicing": hand.label,
                "state": hand.state,
                "from_nut": count_frets(hand.position, NUT).text if hand.position else "",
                "from_capo": count_frets(hand.position, CAPO).text if hand.position else "",
            }
            for hand in way.hands
        ],
    }


def singer_data(answer: SingersAnswer) -> dict[str, Any]:
    """The keys for a singer as plain data; rooms in semitones."""
    return {
        "singer": answer.singer,
        "comfortable": list(answer.comfortable),
        "melody": list(answer.melody),
        "nothing": answer.nothing,
        "keys": [_singers_key(each) for each in answer.keys],
        "recorded": _singers_key(answer.recorded),
        "nearest": [_singers_key(each) for each in answer.nearest],
    }


def _singers_key(each: SingersKey) -> dict[str, Any]:
    return {
        **each._asdict(),
        "key": each.key.name,
        "name": each.name,
        "band_steps": each.band_steps,
        "octaves": each.octaves,
        "fits": each.fits,
        "outside": each.outside,
    }
