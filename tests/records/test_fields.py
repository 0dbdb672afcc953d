"""A field is declared once, in its record, and everything else follows."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, make_dataclass

import pytest

from logbook.notebook.declare import Field, members_of
from logbook.notebook.nouns import LOG, NOUNS
from logbook.records import Song
from logbook.records.fields import holds, needed, noted, storage_of, written
from logbook.store.layout import SHAPES
from logbook.store.layout import StoredField as Column
from logbook.store.models import refuse_homeless


@dataclass(frozen=True, kw_only=True)
class Amp:
    name: str = field(metadata=needed("what it is called", "the small one", "name"))
    watts: int = written(15, "how loud", "15", lambda on: on.whole(1, 400), key="power")
    valves: bool = written(False, "whether it glows", "true", "yes_no", flag=True)
    songs: tuple[Song, ...] = holds("song", "songs song")
    notes: str = noted()


def test_a_noun_is_what_its_record_declares() -> None:
    name, watts, valves, songs, notes = members_of(Amp, __name__)
    assert isinstance(watts, Field)
    assert (watts.key, watts.attributes, watts.option) == ("power", ("watts",), "--power")
    assert isinstance(valves, Field)
    assert valves.flag
    assert not isinstance(songs, Field)
    assert songs.keys == ("songs", "song")
    assert [each.key for each in (name, notes) if isinstance(each, Field)] == ["name", "notes"]


def test_a_reader_that_is_nowhere_is_found_when_the_module_loads() -> None:
    broken = make_dataclass(
        "Broken", [("hum", str, written("", "how it hums", "low", "read_hum"))], frozen=True
    )
    with pytest.raises(TypeError, match="has no read_hum"):
        members_of(broken, __name__)


def test_storage_follows_from_the_type() -> None:
    kinds = [storage_of(each) for each in fields(Amp)]
    assert kinds == ["plain", "plain", "bool", "rows", "plain"]


def test_a_field_that_no_column_keeps_is_refused() -> None:
    shape = SHAPES["song"]
    hum = shape._replace(fields=(*shape.fields, Column("hum", "plain", ("hum",))))
    with pytest.raises(TypeError, match=r"Song\.hum has no column hum in the table song"):
        refuse_homeless({"song": hum})


@pytest.mark.parametrize("noun", [*NOUNS.values(), LOG], ids=lambda noun: noun.word)
def test_whatever_a_record_keeps_can_be_typed(noun: object) -> None:
    said = {name for each in noun.members for name in _attributes(each)}  # type: ignore[attr-defined]
    assert said == {each.name for each in fields(noun.record)}  # type: ignore[attr-defined]


def _attributes(member: object) -> tuple[str, ...]:
    return member.attributes if isinstance(member, Field) else (member.attribute,)  # type: ignore[attr-defined]


@pytest.mark.parametrize("noun", NOUNS.values(), ids=lambda noun: noun.word)
def test_every_field_has_help_and_an_example(noun: object) -> None:
    for each in noun.fields:  # type: ignore[attr-defined]
        assert each.help
        assert each.example
