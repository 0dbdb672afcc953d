"""Which record lies in which table and columns: the one map that reading and writing share.

Conventions
-----------
A field is written as `field` (a column of that name), `field?` (a boolean), `field=json` (a list
kept as JSON text), `field=share` (a fraction in two columns), or `field>table` (a row of another
table, referred to by name: column `field_id`); `field>table:column` where the column is called
otherwise. A test holds this map to the models, so that reading need not import them.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from logbook import records

# The column that names a row, by table; what has none is found by its place in a list.
NAME_COLUMNS = {
    "person": "name",
    "tuning": "name",
    "instrument": "name",
    "session": "name",
    "song": "title",
    "version": "name",
    "part": "name",
    "voicing": "label",
    "pattern": "label",
    "take": "number",
    "comp": "name",
    "arrangement": "name",
    "project": "title",
    "setlist": "name",
    "audio_file": "path",
    "remark": "name",
}


class Field(NamedTuple):
    """One field of a record: how it is kept ("plain", "bool", "json", "share", "ref", "song")."""

    name: str
    kind: str
    columns: tuple[str, ...]
    table: str = ""


class Child(NamedTuple):
    """A field that holds records of another table, which points back by `column`."""

    field: str
    table: str
    column: str
    single: bool = False


class Shape(NamedTuple):
    """A record class and the table it lies in.

    `owners` are the columns that say what a row belongs to (one of them, if several); `key` the
    fields by which a record is known again among its owner's; `listed` says that the owner
    states the list as a whole; `order` the fields by which a single new row finds its place.
    """

    record: type[Any]
    table: str
    owners: tuple[str, ...]
    fields: tuple[Field, ...]
    children: tuple[Child, ...]
    key: tuple[str, ...]
    listed: bool
    order: tuple[str, ...]

    def field(self, name: str) -> Field:
        """The field called `name`."""
        return next(field for field in self.fields if field.name == name)


SHAPES: dict[str, Shape] = {}
TABLE_OF: dict[type[Any], str] = {}


def _field(spec: str) -> Field:
    if spec.endswith("?"):
        return Field(spec[:-1], "bool", (spec[:-1],))
    if spec.endswith("=json"):
        return Field(spec[:-5], "json", (spec[:-5],))
    if spec.endswith("=share"):
        return Field(spec[:-6], "share", ("numerator", "denominator"))
    if spec.endswith("=song"):
        return Field(spec[:-5], "song", ())
    if ">" in spec:
        name, _, target = spec.partition(">")
        table, _, column = target.partition(":")
        return Field(name, "ref", (column or f"{name}_id",), table)
    return Field(spec, "plain", (spec,))


def _shape(
    record: type[Any],
    table: str,
    owners: str,
    fields: str,
    *,
    key: str,
    children: str = "",
    listed: bool = False,
    order: str = "",
) -> None:
    held = []
    for spec in children.split():
        name, _, other = spec.partition(":")
        held.append(Child(name, other.rstrip("!"), f"{table}_id", other.endswith("!")))
    SHAPES[table] = Shape(
        record,
        table,
        tuple(f"{owner}_id" for owner in owners.split()),
        tuple(_field(spec) for spec in fields.split()),
        tuple(held),
        tuple(key.split()),
        listed,
        tuple(order.split()),
    )
    TABLE_OF[record] = table


_shape(
    records.Person,
    "person",
    "",
    "name full_name credited_as other_names=json isni ipi low high notes",
    key="name",
)
_shape(
    records.Tuning,
    "tuning",
    "",
    "name strings a4_hz offset_cents notes",
    key="name",
)
_shape(
    records.Instrument,
    "instrument",
    "",
    "name kind owner strings scale_mm frets tuning>tuning gauge transposition notes",
    key="name",
)
_shape(
    records.Session,
    "session",
    "",
    "name date end_date place gear file_pattern notes",
    key="name",
    children="people:role",
)
_shape(
    records.Role,
    "role",
    "song version session part",
    "person>person role instrument notes",
    key="person role instrument",
    listed=True,
)
_shape(
    records.Song,
    "song",
    "",
    "title iswc notes",
    key="title",
    children="shares:share roles:role versions:version",
)
_shape(
    records.Share,
    "share",
    "song",
    "person>person share=share side agreed_on agreed_by notes",
    key="person side",
    listed=True,
)
_shape(
    records.Version,
    "version",
    "song",
    "name key pickup_beats sample_rate_hz isrc date bar_one_at a4_hz melody_low melody_high notes",
    key="name",
    children="meters:meter_change tempos:tempo_change form:form parts:part roles:role"
    " files:audio_file arrangements:arrangement",
)
_shape(
    records.FormSection,
    "form",
    "version",
    "name start bars notes",
    key="start",
    listed=True,
    order="start",
)
_shape(
    records.MeterChange,
    "meter_change",
    "version",
    "bar meter",
    key="bar",
    listed=True,
    order="bar",
)
_shape(
    records.TempoChange,
    "tempo_change",
    "version",
    "bar bpm beat unit ramp_bpm ramp_unit ramp_end",
    key="bar beat",
    listed=True,
    order="bar beat",
)
_shape(
    records.Part,
    "part",
    "version",
    "name player>person instrument>instrument tuning>tuning capo counted shape_key picked technique"
    " chain pan doubled doubled_why heard? notes",
    key="name",
    children="technique_notes:technique_note voicings:voicing patterns:pattern chart:chart"
    " takes:take comps:comp doubles:double overdubs:overdub reused:reused roles:role"
    " files:audio_file",
)
_shape(
    records.TechniqueNote,
    "technique_note",
    "part",
    "text bars",
    key="text bars",
    listed=True,
)
_shape(
    records.Voicing,
    "voicing",
    "part",
    "label frets name counted fingers avoid ring ornaments notes",
    key="label",
)
_shape(
    records.Pattern,
    "pattern",
    "part",
    "label grid line feel notes",
    key="label",
)
_shape(
    records.ChartEntry,
    "chart",
    "part",
    "bar beat voicing>voicing pattern>pattern",
    key="bar beat",
    listed=True,
    order="bar beat",
)
_shape(
    records.Take,
    "take",
    "part",
    "number session>session result bars notes",
    key="session number",
    children="punch_ins:punch_in files:audio_file",
)
_shape(
    records.PunchIn,
    "punch_in",
    "take",
    "bars number why",
    key="bars number",
    listed=True,
)
_shape(
    records.Comp,
    "comp",
    "part",
    "name final? notes",
    key="name",
    children="pieces:comp_piece",
)
_shape(
    records.CompPiece,
    "comp_piece",
    "comp",
    "bars take source session>session crossfade_ms notes",
    key="bars",
    listed=True,
)
_shape(
    records.Double,
    "double",
    "part",
    "part>part:other_id pan notes",
    key="part",
    listed=True,
)
_shape(
    records.Overdub,
    "overdub",
    "part",
    "over>part session>session bars notes",
    key="over session bars",
    listed=True,
)
_shape(
    records.Reused,
    "reused",
    "part",
    "source bars notes",
    key="source bars",
    listed=True,
)
_shape(
    records.AudioFile,
    "audio_file",
    "take part version",
    "path digest folder container codec rate_hz depth_bits channels frames size modified tags=json"
    " description originator originated_at time_reference loudness_lufs loudness_range_lu"
    " max_true_peak_dbtp ixml_take ixml_note ixml_circled? microphone notes",
    key="folder path",
    children="cues:cue measurement:measurement! heard_doubles:heard_double",
)
_shape(
    records.Cue,
    "cue",
    "audio_file",
    "frame label",
    key="frame label",
    listed=True,
    order="frame",
)
_shape(
    records.Measurement,
    "measurement",
    "audio_file",
    "tempo_bpm tempo_drift_percent tempo_reading tuning_cents loudness_lufs true_peak_dbtp"
    " clipped_samples silence_start_s silence_end_s measured_at",
    key="",
    listed=True,
)
_shape(
    records.HeardDouble,
    "heard_double",
    "audio_file",
    "other kind offset_s residual_db median_ms lower_quartile_ms upper_quartile_ms heard_at",
    key="other",
    listed=True,
)
_shape(
    records.Arrangement,
    "arrangement",
    "version",
    "name purpose key bpm unit count_in_bars notes",
    key="name",
    children="sections:arranged_section parts:arranged_part",
)
_shape(
    records.ArrangedSection,
    "arranged_section",
    "arrangement",
    "name source bars times vamp? bpm unit ramp? cue notes",
    key="name",
    listed=True,
)
_shape(
    records.ArrangedPart,
    "arranged_part",
    "arrangement",
    "part>part player>person instrument>instrument tuning>tuning capo way left_out? written_for"
    " notes",
    key="part",
    listed=True,
)
_shape(
    records.SetList,
    "setlist",
    "",
    "name date place notes",
    key="name",
    children="entries:setlist_entry",
)
_shape(
    records.SetListEntry,
    "setlist_entry",
    "setlist",
    "song=song version>version arrangement>arrangement place with_next? notes",
    key="song version arrangement",
    listed=True,
)
_shape(
    records.Project,
    "project",
    "",
    "title barcode date notes",
    key="title",
    children="tracks:project_track",
)
_shape(
    records.Track,
    "project_track",
    "project",
    "song=song version>version",
    key="song version",
    listed=True,
)
_shape(
    records.Remark,
    "remark",
    "",
    "name text why place written_at settled",
    key="name",
)
