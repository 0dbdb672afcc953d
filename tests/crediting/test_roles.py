from __future__ import annotations

import pytest

from logbook.crediting.errors import CreditError
from logbook.crediting.roles import (
    PART,
    ROLES,
    SESSION,
    SONG,
    VERSION,
    find_role,
    near_roles,
    read_role,
    roles_for,
    sleeve_order,
)


@pytest.mark.parametrize(
    ("written", "where", "word"),
    [
        ("writer", SONG, "writer"),
        ("Songwriter", SONG, "writer"),
        ("lyrics", SONG, "lyricist"),
        ("producer", VERSION, "producer"),
        ("Co Producer", VERSION, "co-producer"),
        ("co-producer", SESSION, "co-producer"),
        ("engineer", SESSION, "engineer"),
        ("Recording_Engineer", SESSION, "recording engineer"),
        ("assistant engineer", SESSION, "assistant"),
        ("mixing  engineer", VERSION, "mixer"),
        ("mastered by", VERSION, "mastering engineer"),
        ("editor", PART, "editor"),
        ("performer", PART, "performer"),
        ("arranger", SONG, "arranger"),
    ],
)
def test_the_words_of_the_trade_are_known(written: str, where: str, word: str) -> None:
    assert read_role(written, where).word == word


@pytest.mark.parametrize(
    ("written", "where", "says"),
    [
        ("enginer", SESSION, "perhaps engineer"),
        ("producr", SONG, "perhaps producer"),
        ("lyrisist", SONG, "perhaps lyricist"),
        ("guitarist", PART, "a player is a performer with an instrument"),
        ("", PART, "The role is empty"),
        ("lyricist", SESSION, "put it on the song"),
        ("studio manager", SONG, "put it on the session"),
        ("mixer", PART, "put it on the version or session"),
    ],
)
def test_a_wrong_role_says_which_would_be_right(written: str, where: str, says: str) -> None:
    with pytest.raises(CreditError) as caught:
        read_role(written, where)
    assert says in str(caught.value)


def test_every_role_is_found_by_all_its_words_and_stands_somewhere() -> None:
    for role in ROLES:
        assert role.places
        for word in (role.word, *role.also):
            assert find_role(word.upper()) == role
    spellings = [word for role in ROLES for word in (role.word, *role.also)]
    assert len(spellings) == len(set(spellings))


def test_roles_are_listed_by_place_in_sleeve_order() -> None:
    words = [role.word for role in roles_for(SONG)]
    assert words[:3] == ["writer", "composer", "lyricist"]
    assert "mixer" not in words
    assert sleeve_order("writer") < sleeve_order("performer") < sleeve_order("mixer")
    assert sleeve_order("no such role") == len(ROLES)


def test_nothing_is_near_to_what_is_far_from_everything() -> None:
    assert near_roles("zzzz") == ()
