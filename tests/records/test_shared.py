"""Files that belong to more than what they hang on."""

from __future__ import annotations

import pytest

from logbook import records as r
from logbook.records.shared import SharedFile, also_of, with_shared


def log_of(also: tuple[tuple[str, str, str, str, str], ...]) -> r.Log:
    """Drums with a room microphone in take 3 that is also of what is said."""
    room = r.AudioFile(path="room.wav", also=also)
    take = r.Take(number=3, session="day one", files=(room,))
    bass = r.Part(
        name="bass",
        takes=(r.Take(number=3, session="day one"), r.Take(number=3, session="day two")),
    )
    parts = (r.Part(name="drums", takes=(take,)), bass)
    return r.Log(songs=(r.Song(title="Varnish", versions=(r.Version(name="EP", parts=parts),)),))


@pytest.mark.parametrize(
    ("entry", "expected"),
    [
        (("", "", "bass", "", ""), [1, 0]),
        (("", "", "BASS", "", "day two"), [0, 1]),
        (("Varnish", "EP", "bass", "3", "day one"), [1, 0]),
        (("Rowan", "EP", "bass", "3", "day one"), [0, 0]),
        (("", "", "bass", "4", ""), [0, 0]),
        (("", "", "", "", "day one"), [0, 0]),
    ],
)
def test_a_take_has_the_files_of_others_that_are_of_it(
    entry: tuple[str, str, str, str, str], expected: list[int]
) -> None:
    log = log_of((entry,))
    (song,) = log.songs
    (version,) = song.versions
    whole = with_shared(log, song, version, version.parts[1])
    assert [len(take.files) for take in whole.takes] == expected


def test_what_a_name_leaves_empty_is_as_the_file_hangs() -> None:
    own = SharedFile("Varnish", "EP", "drums", "3", "day one")
    file = r.AudioFile(path="x", also=(("", "", "bass", "", ""), ("", "", "", "", "day one")))
    assert also_of(own, file) == [
        SharedFile("Varnish", "EP", "bass", "3", "day one"),
        SharedFile("", "", "", "", "day one"),
    ]
