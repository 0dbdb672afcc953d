"""The map of records to tables agrees with the records and with the models."""

from __future__ import annotations

import dataclasses

import pytest

from logbook.store.changing import NOT_OWNERS, OWNERS
from logbook.store.finding import NAME_COLUMNS
from logbook.store.layout import SHAPES
from logbook.store.loading import has_position, has_revision
from logbook.store.models import MODELS

APART = {"command", "change", "here", "checked"}


def test_every_table_has_a_record_and_every_record_a_table() -> None:
    assert set(SHAPES) == set(MODELS) - APART


@pytest.mark.parametrize("table", sorted(SHAPES))
def test_a_shape_names_every_field_of_its_record(table: str) -> None:
    shape = SHAPES[table]
    fields = [field.name for field in shape.fields] + [child.field for child in shape.children]
    assert sorted(fields) == sorted(field.name for field in dataclasses.fields(shape.record))


@pytest.mark.parametrize("table", sorted(SHAPES))
def test_a_shape_names_every_column_of_its_table(table: str) -> None:
    shape = SHAPES[table]
    columns = {column for field in shape.fields for column in field.columns}
    columns |= {"id", *shape.owners}
    columns |= {"position"} if has_position(shape) else set()
    columns |= {"revision"} if has_revision(shape) else set()
    assert columns == set(MODELS[table].__table__.columns.keys())


@pytest.mark.parametrize("table", sorted(SHAPES))
def test_keys_orders_children_and_names_are_really_there(table: str) -> None:
    shape = SHAPES[table]
    names = {field.name for field in shape.fields}
    assert set(shape.key) <= names
    assert set(shape.order) <= names
    for child in shape.children:
        assert child.column in SHAPES[child.table].owners
    for field in shape.fields:
        if field.kind == "ref":
            assert NAME_COLUMNS[field.table] in MODELS[field.table].__table__.columns


def test_every_foreign_key_is_an_owner_or_a_reference() -> None:
    owners = {column for column, _ in OWNERS}
    for table, shape in SHAPES.items():
        for column in MODELS[table].__table__.columns:
            if column.foreign_keys and column.name in owners:
                assert (column.name in shape.owners) != ((table, column.name) in NOT_OWNERS)


def test_whole_numbers_are_kept_as_wide_as_the_writing_room_says() -> None:
    from sqlalchemy import BigInteger

    from logbook.store.values import LARGE

    for table in SHAPES:
        for column in MODELS[table].__table__.columns:
            assert isinstance(column.type, BigInteger) == (column.name in LARGE), column
