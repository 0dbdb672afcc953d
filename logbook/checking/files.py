"""Audio files against the takes they hang on: length, sample rate, tags."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from fractions import Fraction

from logbook.checking.problem import Problem, unreadable
from logbook.crediting.people import Names, credited_name
from logbook.crediting.roles import find_role
from logbook.editing.words import listed
from logbook.errors import LogbookError
from logbook.records.files import AudioFile
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.parts import Take
from logbook.records.songs import Song, Version
from logbook.theory.keys import MAJOR, MINOR, parse_key
from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.tempo_map import TempoMap

# A recorder may stop a touch early; less than this is no missing music.
_SLACK_S = Fraction(1, 20)
_TAKE_TITLE = re.compile(r"(?P<song>.+) \(.*\btake [0-9]+\)")
_WRITING = ("writer", "composer", "lyricist")


def file_lengths(log: Log, song: Song) -> Iterator[Problem]:
    """Yield files shorter than the bars their take covers last at the version's tempo."""
    for place in parts_of(log, song):
        try:
            tempo_map = place.tempo_map
        except LogbookError as error:
            yield unreadable("tempo", f"{song.title}, {place.version.name}", error)
            continue
        if tempo_map is None:
            continue
        for take in place.part.takes:
            try:
                yield from _lengths(place, take, tempo_map)
            except LogbookError as error:
                yield unreadable("take bars", f"{place.title}: take {take.number}", error)


def sample_rates(_log: Log, song: Song) -> Iterator[Problem]:
    """Yield the files of a version that have another sample rate than it, or than each other."""
    for version in song.versions:
        by_rate: dict[int, list[str]] = {}
        for file in _files(version):
            if file.rate_hz:
                by_rate.setdefault(file.rate_hz, []).append(file.path)
        usual = version.sample_rate_hz or max(
            by_rate, key=lambda rate: len(by_rate[rate]), default=None
        )
        where = f"{song.title}, {version.name}"
        for rate, paths in sorted(by_rate.items()):
            if rate == usual:
                continue
            named = ", ".join(paths[:3]) + (f" and {len(paths) - 3} more" if len(paths) > 3 else "")
            whose = "the version says" if version.sample_rate_hz else "most files are at"
            yield Problem(
                "sample rate",
                where,
                f"{named}: {rate} Hz, and {whose} {usual} Hz",
                "files of one version at two rates play at two speeds if nobody converts them",
                f"convert to {usual} Hz, or correct the version's sample rate",
            )


def file_tags(log: Log, song: Song) -> Iterator[Problem]:
    """Yield tags in the files that contradict the log: ISRC, tempo, key, writers and titles.

    A mix is called as its song is; a take may be called anything but a take of another song.
    """
    writers = _writers(log, song)
    for version in song.versions:
        mixes = {file.path for file in version.files}
        for file in _files(version):
            if not file.tags:
                continue
            tags = {name.lower(): value for name, value in file.tags}
            yield from _other_writers(f"{song.title}, {version.name}: {file.path}", file, writers)
            for tag, wanted, same in _wanted(song, version, file.path in mixes):
                found = tags.get(tag, "")
                if found and wanted and not same(found, wanted):
                    yield Problem(
                        "tags",
                        f"{song.title}, {version.name}: {file.path}",
                        f"the file's {tag} is {found}, and the log's is {wanted}",
                        "one of the two is wrong",
                        "rewrite the tags with `logbook tag`, or correct the log",
                    )


def _lengths(place: PartView, take: Take, tempo_map: TempoMap) -> Iterator[Problem]:
    if not take.bars:
        return
    needed = tempo_map.seconds_of(parse_range(take.bars))
    least = needed - _SLACK_S
    for file in take.files:
        if not file.frames or not file.rate_hz:
            continue
        # As whole numbers, since a log has more files than anything else.
        if file.frames * least.denominator < least.numerator * file.rate_hz:
            length = Fraction(file.frames, file.rate_hz)
            yield Problem(
                "file length",
                f"{place.title}: take {take.number}, {file.path}",
                f"the file lasts {float(length):.2f} s, and bars {take.bars} last "
                f"{float(needed):.2f} s",
                f"at the version's tempo ({tempo_map.tempo_at(BarPoint(tempo_map.first_bar))})",
                "correct the bars of the take or the tempo, or find the whole file",
            )


def _files(version: Version) -> Iterator[AudioFile]:
    yield from version.files
    for part in version.parts:
        yield from part.files
        for take in part.takes:
            yield from take.files


_Same = Callable[[str, str], bool]


def _wanted(song: Song, version: Version, is_mix: bool) -> Iterator[tuple[str, str, _Same]]:
    """Yield each tag the log knows better, its value there, and when two values are the same."""
    yield "isrc", version.isrc, _same_code
    yield "key", version.key, _same_key
    if version.tempos:
        yield "tempo", f"{version.tempos[0].bpm:g}", _same_tempo
    yield "title", song.title, _same_title if is_mix else _same_take_title


def _same_take_title(found: str, wanted: str) -> bool:
    """Tell whether a take's title is the song's, where it is written as `logbook tag` does."""
    tagged = _TAKE_TITLE.fullmatch(found)
    return tagged is None or _same_title(tagged["song"], wanted)


def _writers(log: Log, song: Song) -> tuple[tuple[str, ...], ...]:
    """Every name of everybody who wrote the song, the one they are credited by first."""
    wrote = [share.person for share in song.shares if share.side == "writer"]
    for role in song.roles:
        known = find_role(role.role)
        if known is not None and known.makes == "writer":
            wrote.append(role.person)
    people = Names(log.people)
    found = [people.person(name) for name in dict.fromkeys(wrote)]
    return tuple(
        (credited_name(each), each.name, each.full_name, *each.other_names) for each in found
    )


def _other_writers(
    where: str, file: AudioFile, writers: tuple[tuple[str, ...], ...]
) -> Iterator[Problem]:
    """Yield writers in a file's tags who did not write the song."""
    known = [_words(name) for names in writers for name in names if name]
    if not known:
        return
    for tag, value in file.tags:
        if tag.lower() not in _WRITING:
            continue
        for found in filter(None, map(str.strip, re.split(r"[;/]", value))):
            if not any(words <= _words(found) for words in known):
                yield Problem(
                    "tags",
                    where,
                    f"the file's {tag} is {found}, who is not a writer of the song in the log",
                    f"the log names {listed([names[0] for names in writers])}",
                    "rewrite the tags with `logbook tag`, or log the writer",
                )


def _words(name: str) -> frozenset[str]:
    return frozenset(re.findall(r"\w+", name.casefold()))


def _same_code(found: str, wanted: str) -> bool:
    return _letters(found) == _letters(wanted)


def _same_title(found: str, wanted: str) -> bool:
    # "Low Tide (radio edit)" is still Low Tide.
    return _letters(found).startswith(_letters(wanted))


def _same_key(found: str, wanted: str) -> bool:
    """Tell whether a tag's key is this one; a tag knows no church mode, and may say its tonic's."""
    try:
        tagged, key = parse_key(found), parse_key(wanted)
        if tagged == key or key.mode in (MAJOR, MINOR):
            return tagged == key
        same_tonic = (tagged.tonic, tagged.is_minor) == (key.tonic, key.is_minor)
        return same_tonic or tagged.pitch_classes == key.pitch_classes
    except LogbookError:
        return False


def _same_tempo(found: str, wanted: str) -> bool:
    """Tell whether a tag, which some formats round to whole beats a minute, is this tempo."""
    try:
        return abs(float(found) - float(wanted)) < 1
    except ValueError:
        return False


def _letters(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
