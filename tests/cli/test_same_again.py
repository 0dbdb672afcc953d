"""Same again: songs and parts begun like others, copies, takes moved, capos moved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.cli.typed import Typed

DAY = """\
session Loft, today, Mira Holt engineer
song One
part guitar on the cedar one, Oda
capo 2
frets from capo
A 2 bars, B 2 bars, A
Am x02210, F 133211, G 320003
A: Am F
B: G Am
D.DU.UDU on A
t1 keeper 1-6
comp t1 1-6
part bass, Tor Wick
t1 complete 1-6
part guitar
"""


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str]) -> Typed:
    typed = Typed(fresh(), capsys)
    typed(["note", DAY])
    return typed


def part(typed: Typed, name: str, *, song: str = "One") -> dict[str, Any]:
    record: dict[str, Any] = typed.json(["part", "show", name, "--song", song])["record"]
    return record


def test_a_song_like_another_has_its_rigs_and_none_of_its_music(typed: Typed) -> None:
    typed("song add 'Two' --like one")
    guitar = part(typed, "guitar", song="Two")
    assert (guitar["instrument"], guitar["player"]) == ("the cedar one", "Oda")
    assert (guitar["capo"], guitar["counted"]) == ("2", "capo")
    assert guitar["voicings"] == []
    assert guitar["takes"] == []
    assert part(typed, "bass", song="Two")["player"] == "Tor Wick"
    assert typed("here").startswith("Two / recording / guitar, session Loft")
    assert "take 1 of guitar, Two" in typed("take k")
    typed("undo 2")
    assert "Two" not in typed("song list")


def test_a_part_like_another_has_its_chords_and_chart(typed: Typed) -> None:
    typed("part add high --like guitar --only B --instrument cedar")
    high = part(typed, "high")
    assert [each["label"] for each in high["voicings"]] == ["Am", "F", "G"]
    assert [(e["bar"], e["voicing"]) for e in high["chart"]] == [
        (1, ""), (3, "G"), (4, "Am"), (5, ""),
    ]  # fmt: skip
    typed("part add twin --like guitar")
    twin = part(typed, "twin")
    assert twin["chart"] == part(typed, "guitar")["chart"]
    assert (twin["capo"], twin["instrument"]) == ("2", "the cedar one")
    assert "no section is called Q" in typed("part add other --like guitar --only Q", 2)
    assert "add --like" in typed("part add other --only B", 2)


def test_copies(typed: Typed) -> None:
    typed("part add high --counted capo --capo 2 --instrument cedar")
    assert typed("copy voicings guitar high").startswith("copied 3 voicings")
    typed("copy chart guitar high --only A")
    assert [e["voicing"] for e in part(typed, "high")["chart"]] == ["Am", "F", "", "Am", "F"]
    typed("copy patterns guitar bass")
    assert len(part(typed, "bass")["patterns"]) == 1
    typed("song add Two --like one")
    typed("here one recording guitar")
    typed("copy voicings guitar guitar --to-song Two")
    assert len(part(typed, "guitar", song="Two")["voicings"]) == 3
    assert "both source and target" in typed("copy chart guitar guitar", 2)


def test_a_version_is_copied_without_what_happened(typed: Typed) -> None:
    typed("copy version recording live")
    (live,) = [v for v in typed.json("song show One")["record"]["versions"] if v["name"] == "live"]
    guitar = live["parts"][0]
    assert len(guitar["chart"]) == 6
    assert guitar["takes"] == []
    assert guitar["comps"] == []
    assert "already" in typed("copy version recording live", 2)


def test_a_take_is_moved(typed: Typed) -> None:
    said = typed("take move 1 --to-part bass")
    assert "to bass of recording as take 2" in said
    assert [each["number"] for each in part(typed, "bass")["takes"]] == [1, 2]
    assert part(typed, "guitar")["takes"] == []
    typed("undo")
    assert len(part(typed, "guitar")["takes"]) == 1
    typed("session add other")
    typed("take move 1 --to-session other")
    assert part(typed, "guitar")["takes"][0]["session"] == "other"
    assert "already exists" in typed("take move 1 --to-session other", 2)
    assert "where the take is to go" in typed("take move 1", 2)


def frets(typed: Typed) -> dict[str, str]:
    return {each["label"]: each["frets"] for each in part(typed, "guitar")["voicings"]}


def test_a_capo_moves_with_the_shapes_or_with_the_sound(typed: Typed) -> None:
    before = frets(typed)
    typed("part edit guitar --capo 3 --keep shapes")
    assert frets(typed) == before  # counted from the capo
    typed("undo")
    typed("part edit guitar --capo 0 --keep sound")
    assert frets(typed)["G"] == "5 4 2 2 2 5"
    typed("undo")
    assert "behind the capo at 3" in typed("part edit guitar --capo 3 --keep sound", 2)
    assert frets(typed) == before
    assert "add --capo" in typed("part edit guitar --keep sound", 2)
    assert "--keep shapes or --keep sound" in typed("part edit guitar --capo 3 --keep both", 2)


def test_a_new_song_is_recorded_on_at_once(
    fresh: Callable[[], str], capsys: pytest.CaptureFixture[str]
) -> None:
    typed = Typed(fresh(), capsys)
    typed("song add New")
    typed("here new")
    assert typed("take k 1-8").startswith("take 1 of guitar, New: keeper, bars 1-8")
    assert typed("here").startswith("New / recording / guitar")
    assert typed("take f").startswith("take 2 of guitar")
    typed("version edit recording --name album")
    typed("part edit guitar --name 'high guitar'")
    typed("song add Newer")
    typed("voicing add Am 'x 0 2 2 1 0' --song newer")
    assert typed.json("part list --song newer")[0]["name"] == "guitar"


def test_what_is_missing_says_how_to_add_it(typed: Typed) -> None:
    assert 'logbook person add "Wren"' in typed("part add lute --player Wren", 2)
    assert 'logbook part add "lute"' in typed("take k --part lute", 2)
    assert 'logbook song add "Nowhere"' in typed("here Nowhere", 2)
