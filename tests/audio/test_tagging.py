"""Writing tags: what is written, what stays, and that no file is ever broken or out of place."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import time
from fractions import Fraction
from pathlib import Path

import mutagen
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.audio import tagging
from logbook.audio.errors import AudioError, Reason
from logbook.audio.reading import read_audio
from logbook.audio.tag_fields import (
    Credit,
    FileTags,
    Performer,
    TagError,
    key_in_tag,
    tempo_in_tag,
)
from logbook.audio.tag_files import TagFile, open_tags
from logbook.audio.tagging import TagChange, plan_tags, write_copy, write_in_place
from tests.warm import shared

SAMPLES = sorted((Path(__file__).parent / "samples").iterdir())
NAMES = {sample.name: sample for sample in SAMPLES}
TAGS = FileTags(
    title="High Tide",
    writers=("Ada Writer",),
    composers=("Cor Poser",),
    lyricists=("Lou Words",),
    performers=(Performer("Pat Player", "acoustic guitar"), Performer("Lee Low")),
    credits=(Credit("producer", "Pro Ducer"), Credit("assistant", "As Sistant")),
    isrc="AA-6Q7-20-00047",
    tempo_bpm=Fraction(185, 2),
    key="F# minor",
    date="2024-05-06",
    album_artist="The Slack Water Two",
    track=3,
    tracks=12,
    iswc="T0345246801",
    barcode="6291041500213",
    release_date="2025-02",
)


@pytest.fixture(params=SAMPLES, ids=lambda sample: sample.name)
def take(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of each sample in a folder of its own."""
    folder = tmp_path / "takes"
    folder.mkdir()
    copied: Path = shutil.copy(request.param, folder / request.param.name)
    return copied


def joined(values: tuple[str, ...]) -> str:
    """MP4 holds several names in one text; elsewhere each has its own."""
    return "; ".join(values)


def test_everything_is_read_back(take: Path) -> None:
    before = read_audio(take)
    written = write_in_place(take, TAGS, within=take.parent)
    after = read_audio(take)
    assert written.digest == after.digest == before.digest
    assert after.frames == before.frames
    assert (after.broadcast, after.cues, after.ixml) == (
        before.broadcast,
        before.cues,
        before.ixml,
    )
    tags = after.tags
    assert tags["title"] == ("High Tide",)
    assert joined(tags["composer"]) == "Ada Writer; Cor Poser"
    assert tags["lyricist"] == ("Lou Words",)
    assert joined(tags["performer"]) == "Pat Player (acoustic guitar); Lee Low"
    assert tags["isrc"] == ("AA6Q72000047",)
    assert tags["tempo"] == (("92.5",) if before.codec in ("FLAC", "Vorbis", "Opus") else ("93",))
    assert tags["key"] == ("F#m",)
    assert tags["date"] == ("2024-05-06",)
    assert tags["album_artist"] == ("The Slack Water Two",)
    assert tags["track"][0] in ("3", "3/12")
    assert tags["iswc"] == ("T0345246801",)
    assert tags["barcode"] == ("6291041500213",)
    assert tags["released"] == ("2025-02",)
    assert {"producer: Pro Ducer", "assistant: As Sistant"} <= set(tags["credit"])
    # What the log does not own is still there.
    if before.tags.get("artist"):
        assert tags["artist"] == before.tags["artist"]
    if "encoder" in before.tags:
        assert tags["encoder"] == before.tags["encoder"]


def test_the_library_reads_it_too(take: Path) -> None:
    """mutagen, read directly: the frames, comments and atoms by their standard names."""
    if take.name == "wide.wav":
        pytest.skip("mutagen does not read RF64")
    write_in_place(take, TAGS, within=take.parent)
    tags = mutagen.File(take).tags
    if take.suffix in (".wav", ".aiff", ".aifc", ".mp3"):
        assert tags.version == (2, 4, 0)
        assert str(tags["TIT2"]) == "High Tide"
        assert tags["TMCL"].people == [["acoustic guitar", "Pat Player"], ["", "Lee Low"]]
        assert tags["TIPL"].people == [
            ["writer", "Ada Writer"],
            ["producer", "Pro Ducer"],
            ["assistant", "As Sistant"],
        ]
        assert [str(tags[key]) for key in ("TSRC", "TBPM", "TKEY", "TDRC", "TEXT")] == [
            "AA6Q72000047",
            "93",
            "F#m",
            "2024-05-06",
            "Lou Words",
        ]
    elif take.suffix == ".m4a":
        assert tags["\xa9nam"] == ["High Tide"]
        assert tags["\xa9wrt"] == ["Ada Writer; Cor Poser"]
        assert tags["tmpo"] == [93]
        assert tags["----:org.session-logbook:ISRC"] == [b"AA6Q72000047"]
    else:
        assert tags["performer"] == ["Pat Player (acoustic guitar)", "Lee Low"]
        assert tags["composer"] == ["Ada Writer", "Cor Poser"]
        assert tags["producer"] == ["Pro Ducer"]
        assert tags["bpm"] == ["92.5"]


def test_a_plan_writes_nothing_and_says_all(take: Path) -> None:
    content, times = take.read_bytes(), take.stat()
    plan = plan_tags(take, TAGS)
    assert take.read_bytes() == content
    assert take.stat().st_mtime_ns == times.st_mtime_ns
    assert os.listdir(take.parent) == [take.name]
    old_title = read_audio(take).tags.get("title", ())
    assert TagChange("title", old_title, ("High Tide",)) in plan.changes
    whole_beats = take.suffix not in (".flac", ".ogg", ".opus")
    assert bool(plan.notes) == whole_beats
    assert write_in_place(take, TAGS, within=take.parent).changes == plan.changes
    assert plan_tags(take, TAGS).changes == ()


def test_what_is_there_already_is_not_written_again(take: Path) -> None:
    write_in_place(take, TAGS, within=take.parent)
    content, inode = take.read_bytes(), take.stat().st_ino
    assert write_in_place(take, TAGS, within=take.parent).changes == ()
    assert (take.read_bytes(), take.stat().st_ino) == (content, inode)


def test_tags_written_over_and_over_do_not_grow_the_file(take: Path) -> None:
    sizes = []
    for title in ("A", "B", "C", "D"):
        write_in_place(take, FileTags(title=title), within=take.parent)
        sizes.append(take.stat().st_size)
    assert sizes[1] == sizes[2] == sizes[3]


def test_a_title_alone_touches_nothing_else(take: Path) -> None:
    write_in_place(take, TAGS, within=take.parent)
    before = dict(read_audio(take).raw_tags)
    write_in_place(take, FileTags(title="Ebb"), within=take.parent)
    after = dict(read_audio(take).raw_tags)
    changed = {key for key in before if before[key] != after[key]}
    assert changed <= {"TIT2", "INAM", "NAME", "title", "\xa9nam"}
    assert before.keys() == after.keys()


def test_a_copy_leaves_the_original_alone(take: Path, tmp_path: Path) -> None:
    content = take.read_bytes()
    copies = tmp_path / "new" / "copies"
    written = write_copy(take, copies, TAGS)
    assert written.path == copies / take.name
    assert take.read_bytes() == content
    assert read_audio(written.path).tags["title"] == ("High Tide",)
    assert os.listdir(copies) == [take.name]
    # A second time replaces the copy.
    write_copy(take, copies, FileTags(title="Ebb"))
    assert read_audio(written.path).tags["title"] == ("Ebb",)


def test_hostile_text_is_held(take: Path) -> None:
    text = "a\0b \ud800 \N{HEBREW LETTER ALEF}‮ \x1b[31m =1+1 \N{GUITAR} " + "x" * 10_000
    write_in_place(
        take,
        FileTags(title=text, performers=(Performer(text, text),), credits=(Credit(text, text),)),
        within=take.parent,
    )
    title = read_audio(take).tags["title"][0]
    assert "\N{GUITAR}" in title
    assert "\0" not in title
    assert title.endswith("x" * 10_000)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    title=st.text(max_size=40),
    name=st.text(max_size=20),
    role=st.text(max_size=20),
    sample=st.sampled_from(sorted(NAMES)),
)
def test_any_text_can_be_written(
    title: str, name: str, role: str, sample: str, tmp_path: Path
) -> None:
    take = Path(shutil.copy(NAMES[sample], tmp_path / sample))
    tags = FileTags(
        title=title,
        writers=(name,),
        performers=(Performer(name, role),),
        credits=(Credit(role, name),),
    )
    write_in_place(take, tags, within=tmp_path)
    assert read_audio(take).digest == read_audio(NAMES[sample]).digest
    assert plan_tags(take, tags).changes == ()


# --- places ------------------------------------------------------------------------------------


@pytest.fixture
def wav(tmp_path: Path) -> Path:
    folder = tmp_path / "takes"
    folder.mkdir()
    return Path(shutil.copy(NAMES["plain.wav"], folder / "gtr_1.wav"))


@pytest.mark.parametrize("name", ["../out.wav", "/tmp/out.wav", "a/../../out.wav", "", ".."])
def test_a_copy_cannot_leave_its_folder(name: str, wav: Path, tmp_path: Path) -> None:
    with pytest.raises(AudioError, match="not a place inside"):
        write_copy(wav, tmp_path / "copies", TAGS, name=name)
    assert not (tmp_path / "out.wav").exists()


def test_a_copy_does_not_go_through_a_link(wav: Path, tmp_path: Path) -> None:
    copies, outside = tmp_path / "copies", tmp_path / "outside"
    copies.mkdir()
    outside.mkdir()
    (copies / "sub").symlink_to(outside)
    with pytest.raises(AudioError, match="is a link out of the folder"):
        write_copy(wav, copies, TAGS, name="sub/gtr.wav")
    (copies / "gtr_1.wav").symlink_to(outside / "target.wav")
    with pytest.raises(AudioError, match="already exists"):
        write_copy(wav, copies, TAGS)
    assert list(outside.iterdir()) == []


def test_a_copy_makes_the_folders_on_the_way(wav: Path, tmp_path: Path) -> None:
    written = write_copy(wav, tmp_path / "copies", TAGS, name="monday/low tide/gtr.wav")
    assert written.path == tmp_path / "copies" / "monday" / "low tide" / "gtr.wav"


def test_a_copy_never_replaces_another_file(wav: Path, tmp_path: Path) -> None:
    copies = tmp_path / "copies"
    copies.mkdir()
    for content in (NAMES["plain.flac"].read_bytes(), b"a letter"):
        (copies / wav.name).write_bytes(content)
        with pytest.raises(AudioError, match="not a copy of it"):
            write_copy(wav, copies, TAGS)
        assert (copies / wav.name).read_bytes() == content
    with pytest.raises(AudioError, match="take the place of the file itself"):
        write_copy(wav, wav.parent, TAGS)


def test_in_place_stays_in_its_folder(wav: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    with pytest.raises(AudioError, match="outside the folder"):
        write_in_place(wav, TAGS, within=other)
    with pytest.raises(AudioError, match="outside the folder"):
        write_in_place(other / ".." / "takes" / wav.name, TAGS, within=other)
    link = other / "gtr.wav"
    link.symlink_to(wav)
    with pytest.raises(AudioError, match="a link"):
        write_in_place(link, TAGS, within=other)
    assert read_audio(wav).tags["title"] == ("Tune",)


def test_permissions_are_kept(wav: Path) -> None:
    wav.chmod(0o640)
    write_in_place(wav, TAGS, within=wav.parent)
    assert wav.stat().st_mode & 0o777 == 0o640


@pytest.mark.skipif(not hasattr(os, "setxattr"), reason="this system has no extended attributes")
def test_extended_attributes_and_owner_are_kept(wav: Path) -> None:
    try:
        os.setxattr(wav, "user.colour", b"amber")
    except OSError:
        pytest.skip("this file system has no extended attributes")
    if os.geteuid() == 0:
        os.chown(wav, 1234, 2345)
    before = wav.stat()
    written = write_in_place(wav, TAGS, within=wav.parent)
    assert written.changes
    assert written.notes == ()
    assert os.getxattr(wav, "user.colour") == b"amber"
    after = wav.stat()
    assert (after.st_uid, after.st_gid, after.st_mode) == (
        before.st_uid, before.st_gid, before.st_mode,
    )  # fmt: skip


def test_a_hard_link_that_is_split_is_said(wav: Path) -> None:
    other = wav.with_name("same file.wav")
    os.link(wav, other)
    content = other.read_bytes()
    written = write_in_place(wav, TAGS, within=wav.parent)
    assert written.notes == (
        "it had another hard link, which still holds the file without these tags",
    )
    assert other.read_bytes() == content
    assert not os.path.samefile(wav, other)


@pytest.mark.parametrize(
    ("title", "coding"),
    [("Brücke über Moor", "latin-1"), ("Háček", "utf-8"), ("Plain", "ascii"), ("Ã©t", "utf-8")],
)
def test_info_is_latin_1_where_it_fits(title: str, coding: str, tmp_path: Path) -> None:
    """INFO as programs read it that take it for Latin-1; what is none of it stays UTF-8."""
    path = shutil.copy(NAMES["broadcast.wav"], tmp_path / "take.wav")
    write_in_place(path, FileTags(title=title), within=tmp_path)
    data = Path(path).read_bytes()
    at = data.index(b"INAM") + 8
    length = int.from_bytes(data[at - 4 : at], "little")
    assert data[at : at + length].rstrip(b"\0") == title.encode(coding)
    assert read_audio(Path(path)).tags["title"] == (title,)


# --- trouble -----------------------------------------------------------------------------------


def test_a_full_disk_changes_nothing(take: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    content = take.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tagging.os, "fsync", full)
    with pytest.raises(AudioError, match="No space left on device") as caught:
        write_in_place(take, TAGS, within=take.parent)
    assert caught.value.reason is Reason.UNWRITABLE
    assert take.read_bytes() == content
    assert os.listdir(take.parent) == [take.name]


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to root")
def test_a_read_only_folder_changes_nothing(take: Path) -> None:
    content = take.read_bytes()
    take.parent.chmod(0o555)
    try:
        with pytest.raises(AudioError, match="Permission denied"):
            write_in_place(take, TAGS, within=take.parent)
    finally:
        take.parent.chmod(0o755)
    assert take.read_bytes() == content


def test_a_changed_sound_is_found_out(take: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The proof fails when whatever wrote the file also touched its sound."""
    content = take.read_bytes()
    other = NAMES["plain.flac" if take.name != "plain.flac" else "plain.wav"]

    def spoil(_: TagFile, target: Path) -> None:
        shutil.copyfile(other, target)

    kind = type(open_tags(take, read_audio(take)))
    monkeypatch.setattr(kind, "write_to", spoil)
    with pytest.raises(AudioError, match="would have changed its sound"):
        write_in_place(take, TAGS, within=take.parent)
    assert take.read_bytes() == content
    assert os.listdir(take.parent) == [take.name]


def test_what_cannot_be_read_cannot_be_tagged(tmp_path: Path) -> None:
    path = tmp_path / "notes.wav"
    path.write_text("capo at two")
    with pytest.raises(AudioError) as caught:
        plan_tags(path, TAGS)
    assert caught.value.reason is Reason.FOREIGN


def test_a_kill_at_any_moment_leaves_a_whole_file(tmp_path: Path) -> None:
    chance = random.Random(1)
    for name in ("plain.wav", "plain.flac", "plain.mp3", "alac.m4a", "opus.opus", "plain.aiff"):
        take = Path(shutil.copy(NAMES[name], tmp_path / name))
        digest = read_audio(take).digest
        for _ in range(3):
            with shared().call(
                "tests.audio.workers:tag_without_end", str(take), stdout=subprocess.PIPE
            ) as process:
                assert process.stdout is not None
                process.stdout.readline()
                time.sleep(0.05 + chance.random() * 0.05)
                process.send_signal(signal.SIGKILL)
            info = read_audio(take)
            assert info.digest == digest
            assert info.tags["title"][0] in ("Tune", "Ebb", "Flow " + "x" * 4000)
            assert all(path.name.startswith(".") for path in tmp_path.iterdir() if path != take)
        for path in tmp_path.iterdir():
            path.unlink()


# --- values ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("C", "C"),
        ("Db", "Db"),
        ("D♭ major", "Db"),
        ("D-flat major", "Db"),
        ("F# minor", "F#m"),
        ("f sharp min", "F#m"),
        ("Am", "Am"),
        ("b", "B"),
        ("bb minor", "Bbm"),
        ("E maj", "E"),
        ("AM", "A"),
    ],
)
def test_keys_as_id3_writes_them(key: str, expected: str) -> None:
    """ID3v2.4 frame TKEY: a letter, b or #, m for minor; at most three characters."""
    assert key_in_tag(key) == expected


@pytest.mark.parametrize("key", ["H", "C dorian", "D##", "", "m", "C major minor"])
def test_what_is_no_key(key: str) -> None:
    with pytest.raises(TagError, match="not a major or minor key"):
        key_in_tag(key)


def test_values_that_no_tag_can_hold() -> None:
    with pytest.raises(TagError, match="no ISO 8601 date"):
        FileTags(date="6 May")
    with pytest.raises(TagError, match="the tempo is not a tempo"):
        FileTags(tempo_bpm=Fraction(0))
    with pytest.raises(TagError, match="not a major or minor key"):
        FileTags(key="H")


def test_tempi() -> None:
    assert tempo_in_tag(Fraction(185, 2), whole=True) == "93"
    assert tempo_in_tag(Fraction(92), whole=False) == "92"
    assert tempo_in_tag(Fraction(185, 2), whole=False) == "92.5"
    assert tempo_in_tag(Fraction(278, 3), whole=False) == "92.667"
