"""What a noun of the log is made of, said once for both doors.

A `Noun` (song, part, take ...) has fields and, inside it, collections of other nouns. The session
file and the commands both read a noun's fields with the same readers and print them with the
same writers, so that whatever one door can say the other can say, in the same words, and a
mistake reads the same in both.

Conventions. A reader gets what TOML or the command line gave (text, number, yes or no, a list)
and returns the record's value, or raises LogbookError. A writer gets the record's value and
returns what TOML shall hold. A line is the terse form of a whole record in one text; its reader
returns only the attributes that the line mentions, so that what is not mentioned stays.
"""

from __future__ import annotations

import builtins
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields
from functools import cache, cached_property
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.context import Context as Context
from logbook.notebook.context import Known as Known
from logbook.notebook.context import Reader as Reader
from logbook.notebook.context import Record as Record
from logbook.notebook.context import Value as Value


@dataclass(frozen=True, kw_only=True, eq=False)
class Field:
    """One thing that is said of a noun.

    `key` is its name in a session file and, with dashes, its option; `names` the record's
    attributes it sets (one of the same name, unless said; the reader then returns a tuple).
    `example` is a value as it is typed. A `flag` is a yes or no. A `many` field is a list of texts;
    an `always` field is written out even where it says what is usual. a `strict` one is
    read with all its rules even where the rest of a table is taken as it was logged. `called` is
    the option's name where the key would mean another thing on the command line.
    """

    key: str
    read: Reader
    help: str
    example: str
    names: tuple[str, ...] = ()
    write: Callable[..., Value] | None = None
    flag: bool = False
    many: bool = False
    always: bool = False
    strict: bool = False
    called: str = ""

    @cached_property
    def attributes(self) -> tuple[str, ...]:
        """The record's attributes that this field sets."""
        return self.names or (self.key,)

    @property
    def option(self) -> str:
        """The command's option: `--full-name`."""
        return "--" + (self.called or self.key.replace("_", "-"))

    def values_of(self, value: Value, context: Context) -> dict[str, Any]:
        """Read a value into the attributes it sets. Raises LogbookError."""
        result = self.read(value, context)
        if len(self.attributes) == 1:
            return {self.attributes[0]: result}
        return dict(zip(self.attributes, result, strict=True))

    def value_of(self, record: Record) -> Value | None:
        """Return what TOML holds for this field, None where there is nothing to say."""
        attributes = self.attributes
        if len(attributes) == 1:
            value = getattr(record, attributes[0])
            if not self.always and value == default_of(record.__class__, attributes[0]):
                return None
            return value if self.write is None else self.write(value)
        values = [getattr(record, name) for name in attributes]
        usual = [default_of(record.__class__, name) for name in attributes]
        if values == usual and not self.always:
            return None
        if self.write is not None:
            return self.write(*values)
        return values[0]


@dataclass(frozen=True, kw_only=True)
class LineForm:
    """The terse form of a record: one text.

    `write` may return None where the record says something the line has no room for; what it
    returns is only used if it reads back as the same record.
    """

    read: Callable[[str, Context], dict[str, Any]]
    write: Callable[[Record, Context], str | None]
    form: str
    example: str


@dataclass(frozen=True, kw_only=True)
class Collection:
    """Nouns of one kind inside another: `attribute` of the owner's record, `keys` in TOML.

    The first key is the one that is written; the last one heads tables (`[[song.version]]`). Items
    of a `whole` collection are replaced together when any is mentioned, others one by one by their
    natural key. In a `labelled` one a table may hold them by name, `Am7 = "x 0 2 0 1 0"`; `grouped`
    names the attribute by which a table may hold lists of them, `"day one" = [...]`.
    `read_all` and `write_all` stand in where lines make sense only together; `unpack` turns a
    shorter form into a list of items first; `implied` gives what tells an item from its siblings
    where the item does not say it; `settle` lets new items and old ones agree.
    """

    attribute: str
    noun: str
    keys: tuple[str, ...]
    whole: bool = False
    labelled: bool = False
    grouped: str = ""
    read_all: Callable[[Sequence[Value], Context], AllRead] | None = None
    write_all: Callable[[tuple[Record, ...], Context], list[Value]] | None = None
    unpack: Callable[[Value], Value] | None = None
    implied: Callable[[dict[str, Any], Sequence[Record], Context], dict[str, Any]] | None = None
    settle: (
        Callable[[list[Record], dict[tuple[Any, ...], Value], Sequence[Record], Noun], list[Record]]
        | None
    ) = None


@dataclass(kw_only=True)
class AllRead:
    """What reading a whole list gave: its records, and each item's error by its index."""

    records: list[Record] = field(default_factory=list)
    errors: list[tuple[int, LogbookError]] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class Noun:
    """A noun of the log, as both doors know it.

    `key` are the attributes that tell one from another within its owner; `needs` those that a new
    one cannot do without (the key, unless said). `members` are its fields and collections in the
    order in which they are read: a later one may look at what an earlier one said. `called` says
    what a person calls a record among its siblings (its key, unless said).
    """

    word: str
    plural: str
    record: type
    key: tuple[str, ...]
    help: str
    members: tuple[Field | Collection, ...]
    line: LineForm | None = None
    needs: tuple[str, ...] | None = None
    called: Callable[[Record], str] | None = None

    @property
    def a_word(self) -> str:
        """Its word with the article that belongs to it."""
        if self.word == self.plural:
            return self.word
        return f"{'an' if self.word[0] in 'aeiou' else 'a'} {self.word}"

    @property
    def needed(self) -> tuple[str, ...]:
        """The attributes that a new one cannot do without."""
        return self.key if self.needs is None else self.needs

    @cached_property
    def fields(self) -> tuple[Field, ...]:
        """The plain fields."""
        return tuple(each for each in self.members if isinstance(each, Field))

    @cached_property
    def by_key(self) -> dict[str, Field]:
        """The plain fields by their keys."""
        return {each.key: each for each in self.fields}

    @cached_property
    def collections(self) -> tuple[Collection, ...]:
        """The collections of other nouns inside."""
        return tuple(each for each in self.members if isinstance(each, Collection))

    @cached_property
    def usual(self) -> tuple[tuple[Field, str, Any], ...]:
        """The fields, each with its attribute and what that usually is.

        The attribute is empty for a field that sets several, or is written out in any case.
        """
        return tuple(
            (each, "", None)
            if len(each.attributes) > 1 or each.always
            else (each, each.attributes[0], default_of(self.record, each.attributes[0]))
            for each in self.fields
        )

    @cached_property
    def defaults(self) -> tuple[tuple[str, Any], ...]:
        """All that a record says of this noun, each with its default; MISSING for what must be."""
        names = [name for each in self.fields for name in each.attributes]
        names += [each.attribute for each in self.collections]
        return tuple((name, default_of(self.record, name)) for name in names)

    @cached_property
    def key_fields(self) -> frozenset[str]:
        """The keys of the fields that set what tells one from another."""
        own = set(self.key)
        return frozenset(each.key for each in self.fields if own & set(each.attributes))

    def key_of(self, record: Record) -> tuple[Any, ...]:
        """Return what tells this record from its siblings."""
        return tuple(getattr(record, name) for name in self.key)

    def title_of(self, record: Record) -> str:
        """Return what a person calls this record among its siblings."""
        if self.called is not None:
            return self.called(record)
        if not self.key:
            return str(getattr(record, self.fields[0].attributes[0]))
        return " ".join(str(each) for each in self.key_of(record) if each not in ("", None))

    def field_of(self, attribute: str) -> Field:
        """Return the field that sets an attribute."""
        return next(each for each in self.fields if attribute in each.attributes)

    @cache  # noqa: B019 -- nouns are declared once and stay
    def keys(self) -> tuple[str, ...]:
        """Return every key a table of this noun may have."""
        keys: list[str] = []
        for each in self.members:
            keys += [each.key] if isinstance(each, Field) else each.keys
        return tuple(dict.fromkeys(keys))


class _Readers:
    """What readers and printers of a noun are looked up in: its module, then `values`."""

    def __init__(self, module: str) -> None:
        self._places = (sys.modules[module], values, builtins)

    def __getattr__(self, name: str) -> Any:
        for place in self._places:
            if hasattr(place, name):
                return getattr(place, name)
        raise TypeError(
            f"{self._places[0].__name__} has no {name}, nor has logbook.notebook.values"
        )

    def found(self, traits: Mapping[str, Any]) -> dict[str, Any]:
        """Return traits with what is named in them."""
        return {trait: self._found(trait, value) for trait, value in traits.items()}

    def _found(self, trait: str, value: Any) -> Any:
        if trait not in _NAMED:
            return value
        return getattr(self, value) if isinstance(value, str) else value(self)


_NAMED = frozenset({"read", "write", "read_all", "write_all", "unpack", "implied", "settle"})


def members_of(record: type, module: str) -> tuple[Field | Collection, ...]:
    """Return what a record declares of its fields, with the readers and printers of a module.

    Raises TypeError for a name that is neither there nor in `values`.
    """
    names = _Readers(module)
    members: list[Field | Collection] = []
    for each in fields(record):
        if "written" in each.metadata:
            traits = {"key": each.name, **each.metadata["written"]}
            members.append(Field(names=(each.name,), **names.found(traits)))
        elif "holds" in each.metadata:
            members.append(Collection(attribute=each.name, **names.found(each.metadata["holds"])))
    return tuple(members)


@cache
def default_of(record: type, attribute: str) -> Any:
    """Return the value an attribute has where nothing is said; MISSING for one that must be."""
    return next((each.default for each in fields(record) if each.name == attribute), MISSING)


@cache
def type_of(record: type, attribute: str) -> str:
    """Return the type of an attribute as it is declared."""
    return next((str(each.type) for each in fields(record) if each.name == attribute), "")
