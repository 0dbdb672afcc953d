"""Audio files as the importer read them, and what listening found in them."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import holds, needed, noted, written


@dataclass(frozen=True, kw_only=True)
class Cue:
    """A labelled place in a file, in frames from its start."""

    frame: int = field(
        metadata=needed("frames from the start", "0", lambda on: on.whole(0, on.BIG))
    )
    label: str = written("", "what is written there", "verse", "text")


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """What listening found in one file.

    Tempo in beats a minute of the version's beat unit, `tempo_bars` bar by bar as runs (see
    `logbook.timing.tempo_runs`); drift in per cent over the take. Tuning in cents from the
    version's A4 with its standard error, from and to where it slides, and how far the notes or the
    string that `tuning_apart` names lie from the others. `click_late_ms`: how far behind the click
    the player sits (negative: ahead), with its standard error; `click_by`: what says where the
    click falls. Loudness in LUFS and true peak in dBTP (ITU-R BS.1770-4); silence in seconds.
    None or empty where nothing could be said.
    """

    tempo_bpm: float | None = None
    tempo_drift_percent: float | None = None
    tempo_reading: str = ""
    tempo_bars: str = ""
    tuning_cents: float | None = None
    tuning_error_cents: float | None = None
    tuning_from_cents: float | None = None
    tuning_to_cents: float | None = None
    tuning_apart_cents: float | None = None
    tuning_apart: str = ""
    click_late_ms: float | None = None
    click_error_ms: float | None = None
    click_by: str = ""
    loudness_lufs: float | None = None
    true_peak_dbtp: float | None = None
    clipped_samples: int | None = None
    silence_start_s: float | None = None
    silence_end_s: float | None = None
    measured_at: str = ""


@dataclass(frozen=True, kw_only=True)
class HeardDouble:
    """What listening found when it compared another file with this one.

    `other` is the digest of the other file's sound; `kind` what that file is to this one: one of
    `HEARD_KINDS`. `offset_s` is the other's time minus this one's at the best alignment, in
    seconds; `residual_db` what is left of the other when this one is taken away, in decibels of
    the other. The quartiles of how far apart the same notes begin are in milliseconds, None unless
    it is a second performance. `heard_at` is when it was listened to.
    """

    other: str = field(metadata=needed("digest of the other sound", "sha256:...", "name"))
    kind: str = field(
        metadata=needed("what the other is to this one", "second performance", "_heard_kind")
    )
    offset_s: float = written(
        0.0, "the other's time minus this one's, s", "0.012", lambda on: on.number()
    )
    residual_db: float = written(0.0, "what is left over, dB", "-0.3", lambda on: on.number())
    median_ms: float | None = written(
        None, "timing spread, ms", "9.4", lambda on: on.maybe(on.number())
    )
    lower_quartile_ms: float | None = written(
        None, "lower quartile, ms", "3.4", lambda on: on.maybe(on.number())
    )
    upper_quartile_ms: float | None = written(
        None, "upper quartile, ms", "16.5", lambda on: on.maybe(on.number())
    )
    heard_at: str = written("", "when it was listened to", "2026-05-04 19:00", "text")


@dataclass(frozen=True, kw_only=True)
class HeardChord:
    """A chord that listening heard as a different one from the one logged.

    `place` is where it is logged ("9", "9.3"), or "all" for the whole part, whose capo is then
    what differs. `logged` and `heard` are what the chart calls the chord and what it sounds, or
    the capo; `notes` the notes heard, `sure` how sure that is, 0 to 1. `basis` names what was
    logged when it was heard: it counts only while the chart says the same. `heard_at` is when it
    was listened to.
    """

    place: str = field(metadata=needed("where it is logged", "9.3", "name"))
    logged: str = written("", "what is logged there", "F#m7", "text")
    heard: str = written("", "what is heard there", "A", "text")
    notes: str = written("", "the notes heard", "A2 E3 A3 C#4", "text")
    sure: float = written(0.0, "how sure that is, 0 to 1", "0.93", lambda on: on.number())
    basis: str = written("", "what it was held against", "3f9c21d0aa17be55", "text")
    heard_at: str = written("", "when it was listened to", "2026-05-04 19:00", "text")


@dataclass(frozen=True, kw_only=True)
class FileCopy:
    """Where a file also lies.

    `place` is its whole path there, `medium` what that is on, as people call it ("blue drive").
    `digest` is that of the sound which was found there, `verified_at` when; a copy is good as long
    as that is the digest of the file itself.
    """

    place: str = field(metadata=needed("where it also lies", "/media/blue/gtr_01.wav", "name"))
    medium: str = written("", "what that is on", "blue drive", "text")
    digest: str = written("", "digest of the sound found there", "sha256:...", "text")
    verified_at: str = written("", "when that was verified", "2026-05-04T19:00:00Z", "text")


WHOLE_PART = "all"
"""The place of what was heard of a whole part."""

SAME_KINDS = ("identical", "delayed", "processed")
"""The kinds that are the same recording."""

HEARD_KINDS = (*SAME_KINDS, "second performance", "unrelated")
"""What a file can be to another one."""


@dataclass(frozen=True, kw_only=True)
class AudioFile:
    """One audio file, known by the digest of its sound, not by its path.

    `folder` is the folder that was imported (absolute) and `path` the file's place inside it
    (POSIX, relative, never upward). `frames` counts sample frames at `rate_hz`; `tags` are the
    file's own, normalised; `time_reference` is in frames since midnight (EBU Tech 3285).
    `modified` is the file's modification time in nanoseconds since the epoch, `size` bytes.
    `microphone` says which microphone or line of a take with several files it is. `also` names
    what it belongs to besides (a room microphone, a whole band, a day that ran through): song,
    version, part, take and session, each empty for what it hangs on, a session alone for one
    that it is of as a whole, and last, where it is another than the file's own, its microphone;
    `logbook.records.shared` says what is meant.
    """

    path: str = field(
        metadata=needed("where it is inside its folder", "takes/gtr_01.wav", "path", strict=True)
    )
    folder: str = written(
        "",
        "the folder it was imported from",
        "/sessions/boathouse",
        "folder",
        always=True,
        strict=True,
    )
    microphone: str = written("", "which microphone or line it is", "left ribbon", "text")
    also: tuple[tuple[str, ...], ...] = written(
        (),
        "what else it is a recording of: other parts with their takes, or a whole session",
        '["bass", "guitar; take 3"]',
        "_also",
        write="_write_also",
        many=True,
    )
    notes: str = noted()
    digest: str = written("", "digest of the sound", "sha256:...", "text")
    container: str = written("", "container format", "WAV", "text")
    codec: str = written("", "how the sound is coded", "PCM", "text")
    rate_hz: int | None = written(
        None,
        "sample rate in hertz",
        "48000",
        lambda on: on.maybe(on.whole(1, 100_000_000)),
        key="rate",
    )
    depth_bits: int | None = written(
        None, "bits a sample", "24", lambda on: on.maybe(on.whole(1, 512)), key="depth"
    )
    channels: int | None = written(
        None, "how many channels", "1", lambda on: on.maybe(on.whole(1, 65_535))
    )
    frames: int | None = written(
        None, "sample frames", "1440000", lambda on: on.maybe(on.whole(0, on.BIG))
    )
    size: int | None = written(None, "bytes", "4320044", lambda on: on.maybe(on.whole(0, on.BIG)))
    modified: int | None = written(
        None,
        "when it was last changed, in ns since 1970",
        "1777724100000000000",
        lambda on: on.maybe(on.whole(-on.BIG, on.BIG)),
    )
    tags: tuple[tuple[str, str], ...] = written(
        (), "the file's own tags", "title=Low Water", "_tags", write="_write_tags", many=True
    )
    description: str = written("", "broadcast description", "guitar take 1", "text")
    originator: str = written("", "broadcast originator", "boathouse rig", "text")
    originated_at: str = written("", "broadcast date and time", "2026-05-02 10:02:15", "text")
    time_reference: int | None = written(
        None, "frames since midnight", "1733760000", lambda on: on.maybe(on.whole(0, on.BIG))
    )
    loudness_lufs: float | None = written(
        None, "stated LUFS", "-23", lambda on: on.maybe(on.number()), key="loudness"
    )
    loudness_range_lu: float | None = written(
        None,
        "stated loudness range, LU",
        "6",
        lambda on: on.maybe(on.number()),
        key="loudness_range",
    )
    max_true_peak_dbtp: float | None = written(
        None, "stated true peak, dBTP", "-1", lambda on: on.maybe(on.number()), key="max_true_peak"
    )
    ixml_take: str = written("", "the recorder's take", "3", "text")
    ixml_note: str = written("", "the recorder's note", "good", "text")
    ixml_scene: str = written("", "the recorder's scene", "Saltpan Road", "text")
    ixml_tracks: tuple[str, ...] = written(
        (),
        "what the recorder calls each channel, first channel first",
        '["KICK", "SNARE", "GTR L", "GTR R"]',
        "texts",
        write="list",
        many=True,
    )
    ixml_circled: bool | None = written(
        None,
        "whether the recorder's take is circled",
        "true",
        lambda on: on.maybe(on.yes_no),
        flag=True,
    )
    cues: tuple[Cue, ...] = holds("cue", "cues cue", whole=True)
    copies: tuple[FileCopy, ...] = holds("file-copy", "copies copy", whole=True)
    heard_doubles: tuple[HeardDouble, ...] = holds(
        "heard-double", "heard_doubles heard_double", whole=True
    )
    heard_chords: tuple[HeardChord, ...] = holds(
        "heard-chord", "heard_chords heard_chord", whole=True
    )
    measurement: Measurement | None = written(
        None,
        "what listening found",
        "{ tempo_bpm = 96.1 }",
        "_measurement",
        write="_write_measurement",
        stored="row",
    )
