"""The player's sheet in reading order: which block says what. Nothing is worked out here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from logbook.records.log import Log
from logbook.sheets.blocks import (
    KEY,
    MOST_ON_TOP,
    WRONG,
    BarMap,
    Block,
    Chart,
    Chords,
    Facts,
    Heading,
    Items,
    Paragraph,
    Patterns,
    Table,
)
from logbook.sheets.charts import chords_in
from logbook.sheets.edits import EditedTake, PieceLine
from logbook.sheets.heads import VersionHead
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.melodies import melody_blocks
from logbook.sheets.player import PartSheet, PlayerSheet, VersionSheet, player_sheet
from logbook.sheets.rigs import Rig
from logbook.sheets.signs import bars_label, with_dashes
from logbook.sheets.tabs import is_single_notes, tablature
from logbook.strings.stretch import STRAIN_CAUTION, WIDE_MM

if TYPE_CHECKING:
    from logbook.checking import Problem

_MOST_TAKES = 12
_EDITS_ALIKE = 8
CHORDS_ASIDE = "the name is what sounds, under it the shape the hands play"
CHART_KEY = "Each bar begins with the chord that sounds; · the chord before goes on, ╱ one beat."
CHART_KEY_SHAPES = (
    "Upper line: what sounds. Lower line: the shape the hands play. · the chord before goes on, "
    "╱ one beat."
)
CHART_KEY_KIT = "Each bar begins with the pattern that is played; · it goes on, ╱ one beat."

CHART_KEY_WRITTEN = (
    "Upper line: what sounds (concert). Lower line: what the player reads. · the chord before "
    "goes on, ╱ one beat."
)


def build(log: Log, wanted: Wanted) -> Sheet:
    """Return a song's player's sheet, ready to be drawn.

    Raises LogbookError where the log has no such song, version or part.
    """
    checks = bool(wanted.checks)
    data = player_sheet(
        log, wanted.song, wanted.version or None, wanted.part or None, checks=checks
    )
    scores = _scores(log, data)
    return Sheet("player", data.song, data, player_blocks(data, checks=checks, scores=scores))


def _scores(log: Log, data: PlayerSheet) -> dict[tuple[str, str], str]:
    """The parts that have notes for a staff, as MusicXML, by version and part."""
    song = next(each for each in log.songs if each.title == data.song)
    wanted = {
        (each.head.name, part.name)
        for each in data.versions
        for part in each.parts
        if part.melody
        or any(card.as_written for card in part.chords)
        or any(each.kit for each in part.patterns)
    }
    if not wanted:
        return {}
    # Here, for what arranges need not be loaded for a sheet of parts with a neck.
    from logbook.sheets.staves import recorded_staff

    return {
        (version.name, part.name): recorded_staff(log, song, version, part)
        for version in song.versions
        for part in version.parts
        if (version.name, part.name) in wanted
    }


def player_blocks(
    sheet: PlayerSheet,
    *,
    checks: bool = True,
    scores: Mapping[tuple[str, str], str] = MappingProxyType({}),
) -> tuple[Block, ...]:
    """Return the blocks of a player's sheet: charts and voicings first, facts last.

    `scores` are the parts that a staff can show, by version and part.
    """
    blocks: list[Block] = [Heading(1, sheet.song, "player's sheet")]
    if not sheet.versions:
        blocks.append(Paragraph("No version of this song is logged yet."))
    several = len(sheet.versions) > 1
    about = _said(
        ("written by", ", ".join(sheet.writers)), ("ISWC", sheet.iswc), ("about", sheet.said)
    )
    for version in sheet.versions:
        for part in version.parts:
            staff = scores.get((version.head.name, part.name), "")
            blocks += _part(part, version.head, staff, several=several)
        if not version.parts:
            blocks.append(Paragraph(f"No part of the version {version.head.name} is logged yet."))
        blocks += _version(version, () if several else about)
    if about and len(sheet.versions) != 1:
        blocks += [Heading(2, "The song"), Facts(about)]
    if checks:
        blocks += _checks(sheet)
    cards = [card for each in sheet.versions for part in each.parts for card in part.chords]
    wide = any(card.stretch_mm and card.stretch_mm >= WIDE_MM for card in cards)
    if any(card.caution for card in cards) and not wide:
        blocks.append(Paragraph(STRAIN_CAUTION))
    return tuple(block for block in blocks if not _is_empty(block))


def _is_empty(block: Block) -> bool:
    return isinstance(block, Facts) and not block.rows


def _said(*rows: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple((label, text) for label, text in rows if text)


def _version(version: VersionSheet, about: tuple[tuple[str, str], ...]) -> list[Block]:
    head = version.head
    blocks: list[Block] = [
        Heading(2, f"The version {head.name}", ", ".join(_said_only(_bars(head), head.length))),
        Facts(
            _said(
                *about,
                ("key", f"{head.key} (concert)" if head.key else "not said"),
                ("meter", "; ".join((*head.meters, *_said_only(head.pickup)))),
                ("tempo", "; ".join(head.tempos) or "not said"),
                ("form", "; ".join(f"{each.name} {each.bars}" for each in head.form) or "not said"),
                ("pitch", head.reference),
                *_rows("recorded", head.recorded),
                ("people", "; ".join(head.people)),
                ("date", head.date),
                ("ISRC", head.isrc),
                ("rate", head.sample_rate),
                *_rows("mixes", head.mixes),
                ("notes", head.said),
            )
        ),
        *_unreadable(head.unreadable),
    ]
    if len(version.parts) > 1:
        blocks.append(_cast(version.parts))
    return blocks


def _rows(label: str, texts: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """One label for several rows."""
    return tuple((label if number == 0 else "", text) for number, text in enumerate(texts))


def _said_only(*texts: str) -> tuple[str, ...]:
    return tuple(filter(None, texts))


def _bars(head: VersionHead) -> str:
    return f"{head.bars} bars" if head.bars else ""


def _unreadable(lines: tuple[str, ...]) -> list[Block]:
    return [Items(tuple(f"cannot be read: {line}" for line in lines), WRONG)] if lines else []


def _cast(parts: tuple[PartSheet, ...]) -> Table:
    head = ("part", "player", "tuning", "capo", "instrument")
    rows = tuple(
        (
            part.name,
            part.player or "-",
            part.rig.tuning or "-",
            part.rig.capo if part.rig.strings else "-",
            part.rig.instrument.partition(";")[0] or "-",
        )
        for part in parts
    )
    if any(part.rig.strings for part in parts):
        return Table(head, rows)
    # Nobody has a neck: tunings and capos would be dashes alone.
    kept = (0, 1, 4)
    return Table(
        tuple(head[at] for at in kept), tuple(tuple(row[at] for at in kept) for row in rows)
    )


def _part(part: PartSheet, head: VersionHead, staff: str, *, several: bool) -> list[Block]:
    rig = part.rig
    who = ", ".join(_said_only(head.name if several else "", part.player))
    blocks: list[Block] = [
        Heading(2, part.name, who, of_part=True, of_version=head.name),
        Paragraph(at_a_glance(part.rig, head)),
    ]
    if part.heard is False:
        blocks.append(Paragraph("This part is not heard in the final version."))
    blocks += chart_blocks(part)
    blocks += melody_blocks(part.melody, staff=staff)
    blocks += _chords(part)
    if part.patterns:
        drums = any(each.kit for each in part.patterns)
        title = "Patterns of the kit" if drums else "Picking hand"
        blocks += [Heading(3, title), Patterns(part.patterns)]
    blocks += _edit(part)
    rows = _said(
        ("instrument", rig.instrument or ("not said" if part.chords else "")),
        ("tuning", ", ".join(_said_only(rig.tuning, rig.reference))),
        ("capo", rig.capo if rig.strings or rig.capo != "none" else ""),
        ("keys", _keys(rig)),
        ("tacet", with_dashes(part.tacet)),
        ("hand", part.hand),
        ("technique", part.technique),
        *_technique_notes(part),
        ("chain", part.chain),
        ("recall", "; ".join(part.recall)),
        ("pan", part.pan),
        ("people", "; ".join(part.people)),
        ("notes", part.said),
    )
    if rows or rig.strings or part.unreadable:
        blocks += [Heading(3, "How it is set up"), Facts(rows), *_strings(part)]
        blocks += _unreadable(part.unreadable)
    return blocks


def at_a_glance(rig: Rig, head: VersionHead) -> str:
    """What a player sets before the first bar, in a line."""
    counted = rig.counted.rstrip(".")
    said = "; ".join(
        _said_only(
            _keys(rig) or head.key,
            f"capo {rig.capo}" if rig.capos else "no capo" if rig.strings else "",
            f"tuning {rig.tuning}" if rig.tuning else "",
            head.tempos[0] if head.tempos else "",
            head.meters[0] if head.meters else "",
            f"{counted[:1].lower()}{counted[1:]}",
        )
    )
    return f"{said[:1].upper()}{said[1:]}."


def _strings(part: PartSheet) -> list[Block]:
    """The open strings under their numbers, and what they sound with the capo on."""
    rig = part.rig
    if not rig.strings:
        return []
    head = ("string", *(str(each.number) for each in rig.strings))
    rows = [("open", *(each.open_note for each in rig.strings))]
    if rig.capos:
        rows.append(("capo on", *(each.with_capo for each in rig.strings)))
    return [Table(head, tuple(rows))]


def _technique_notes(part: PartSheet) -> tuple[tuple[str, str], ...]:
    return tuple(
        (bars_label(bars) if bars else "technique", text) for bars, text in part.technique_notes
    )


def _keys(rig: Rig) -> str:
    if not rig.strings or not rig.concert_key:
        return f"hands play {rig.shape_key} shapes" if rig.shape_key and rig.strings else ""
    if rig.shape_key in ("", rig.concert_key):
        return f"sounds in {rig.concert_key}"
    return f"sounds in {rig.concert_key}, hands play {rig.shape_key} shapes"


def _chords(part: PartSheet) -> list[Block]:
    if not part.chords:
        return []
    if not part.rig.strings and part.chart and not any(card.as_written for card in part.chords):
        return []  # a voice: its notes stand in the chart, and no string has to be fingered
    if is_single_notes(part.chords) and part.chart:
        return [Heading(3, "Tablature"), tablature(part.chart, part.chords, part.rig.strings)]
    with_shapes = bool(part.rig.capos) and any(card.shape for card in part.chords)
    blocks: list[Block] = [
        Heading(3, "Chords", CHORDS_ASIDE if with_shapes else ""),
        Chords(part.chords, charted=bool(part.chart) and len(part.chords) <= MOST_ON_TOP),
    ]
    wide = [card for card in part.chords if card.stretch_mm and card.stretch_mm >= WIDE_MM]
    if wide:
        reaches = ", ".join(f"{card.concert} {card.stretch_mm:.0f} mm" for card in wide)
        blocks.append(Paragraph(f"Wide reach: {reaches}. {STRAIN_CAUTION}"))
    return blocks


def chart_blocks(part: PartSheet) -> list[Block]:
    """The chart under its heading, and how to read it; nothing where none is logged."""
    if not part.chart:
        return []
    with_shapes = any(card.shape and card.shape != card.concert for card in part.chords)
    lent = not part.chords and any(chord.shape for chord in chords_in(part.chart))
    key = CHART_KEY_SHAPES if with_shapes else CHART_KEY
    if any(each.kit for each in part.patterns):
        key = CHART_KEY_KIT
    elif lent or any(card.written_name for card in part.chords):
        key = CHART_KEY_WRITTEN
    if _off_the_beat(part):
        key += " @ and a count: the chord starts there."
    if part.melody:
        key += " Below stand the notes of the melody as they are read; @ says from which beat."
    names = [card.concert for card in part.chords]
    single = is_single_notes(part.chords)
    chart = Chart(
        part.chart,
        with_shapes or lent,
        len(set(names)) < len(names),
        () if single or len(part.chords) > MOST_ON_TOP else part.chords,
    )
    return [Heading(3, "Chart"), chart, Paragraph(key, KEY)]


def _off_the_beat(part: PartSheet) -> bool:
    return not all(chord.beat.isdecimal() for chord in chords_in(part.chart))


def _edit(part: PartSheet) -> list[Block]:
    edit = part.edit
    blocks: list[Block] = [Heading(3, "How it was taped")]
    if edit.told:
        blocks.append(Paragraph(edit.told))
    blocks += _unreadable(edit.unreadable)
    if edit.rows:
        blocks.append(BarMap(edit.rows, edit.strip))
    if edit.pieces:
        blocks.append(Paragraph(_edits(edit.pieces)))
    blocks += _takes(edit.takes)
    blocks.append(
        Facts(
            _said(
                ("overdubs", "; ".join(edit.overdubs)),
                ("remembered", "; ".join(edit.remembered)),
                ("other comps", "; ".join(edit.other_comps)),
                ("bounces", "; ".join(edit.bounces)),
            )
        )
    )
    return blocks


def _edits(pieces: tuple[PieceLine, ...]) -> str:
    """The edits in a paragraph; a crossfade they have in common is said once."""
    fades = {piece.crossfade for piece in pieces if piece.crossfade}
    if len(fades) == 1 and len(pieces) > _EDITS_ALIKE:
        (fade,) = fades
        alike = (piece._replace(crossfade="") for piece in pieces)
        return f"Edits, crossfades {fade}: {'; '.join(map(_piece, alike))}."
    return f"Edits: {'; '.join(map(_piece, pieces))}."


def _piece(piece: PieceLine) -> str:
    """An edit in a few words: "9-10 take 4 bars 7-8, 10 ms"."""
    source = f" bars {piece.source}" if piece.source else ""
    said = f"{piece.bars} {'take ' if piece.take[:1].isdecimal() else ''}{piece.take}{source}"
    said += f", {piece.crossfade}" if piece.crossfade else ""
    return f"{said} ({piece.said})" if piece.said else said


def _takes(takes: tuple[EditedTake, ...]) -> list[Block]:
    """The takes; of many only those that were used or good, and how many others there were."""
    if not takes:
        return []
    heard = any(take.heard_bars is not None for take in takes)
    shown = takes
    left: tuple[EditedTake, ...] = ()
    if len(takes) > _MOST_TAKES:
        shown = _worth_showing(takes) or takes[-_MOST_TAKES:]
        left = tuple(take for take in takes if take not in shown)
    table = Table(
        ("take", "session", "result", "bars", *(("bars heard",) if heard else ()), "notes"),
        tuple(
            (
                str(take.number),
                take.session or "-",
                take.result,
                take.bars or "-",
                *((take.heard_bars or "-",) if heard else ()),
                "; ".join(_said_only(*take.punch_ins, take.said, *take.microphones)),
            )
            for take in shown
        ),
        takes=tuple(_name(take, takes) for take in shown),
    )
    if not left:
        return [table]
    counts = Counter(take.result for take in left)
    told = ", ".join(f"{count} {result}" for result, count in counts.most_common())
    word = "take" if len(left) == 1 else "takes"
    return [table, Paragraph(f"And {len(left)} more {word}, not used: {told}.")]


def _name(take: EditedTake, takes: tuple[EditedTake, ...]) -> str:
    """A take as a page that plays names it: with its session where the number is shared."""
    shared = sum(each.number == take.number for each in takes) > 1
    return f"{take.number} of {take.session}" if shared and take.session else str(take.number)


def _worth_showing(takes: tuple[EditedTake, ...]) -> tuple[EditedTake, ...]:
    """Takes that were used or good; of many good ones the keepers and those with a remark."""
    used = [take for take in takes if take.heard_bars not in (None, "none")]
    best = [*used, *(take for take in takes if take.result == "keeper")]
    good = [take for take in takes if take.result == "complete"]
    for more in (good, [take for take in good if take.said], []):
        shown = tuple(take for take in takes if take in best or take in more)
        if len(shown) <= _MOST_TAKES:
            break
    return shown


def _checks(sheet: PlayerSheet) -> list[Block]:
    heading = Heading(2, "What the checks found")
    if not sheet.checks:
        return [heading, Paragraph("No contradictions found in this song.")]
    return [heading, Items(tuple(_finding(each, sheet.song) for each in sheet.checks), WRONG)]


def _finding(problem: Problem, song: str) -> str:
    where = problem.where.removeprefix(f"{song}, ").removeprefix(f"{song}: ")
    mend = f" Fix: {problem.mend}." if problem.mend else ""
    return f"{where}: {problem.what} ({problem.why}).{mend}"
