"""What the log knows, made ready for weighing files: its names, its takes, and who lies beside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import PurePath

from logbook.importing.path_words import name_words, path_words
from logbook.importing.trade_words import SHORT_FORMS, is_line_word
from logbook.names import bare
from logbook.store.file_rows import Outline, PartLine

_TELLING = 4  # letters of a title's first word that stand for it


@dataclass
class KnownLog:
    """The log's names made ready for weighing.

    `lasts` says how many seconds some bars of a version last, by its number.
    """

    outline: Outline
    song_id: int | None = None
    session_id: int | None = None
    here_song: int | None = None
    lasts: Callable[[int, str], float | None] = lambda version_id, bars: None

    def __post_init__(self) -> None:
        self.numbers: dict[tuple[int, int | None], set[int]] = {}
        for take in self.outline.takes:
            self.numbers.setdefault((take.part_id, take.session_id), set()).add(take.number)
        self.takes = {
            (take.part_id, take.session_id, take.number): take for take in self.outline.takes
        }
        self.parts_of_song: dict[int, list[PartLine]] = {}
        for part in self.outline.parts.values():
            song = self.outline.versions[part.version_id].song_id
            if self.song_id in (None, song):
                self.parts_of_song.setdefault(song, []).append(part)
        self._share_aliases()
        titles = [name_words(title)[:1] for title in self.outline.songs.values()]
        two = [
            initials
            for words in map(name_words, self.outline.songs.values())
            if len(words) == 2 and (initials := "".join(word[0] for word in words))
        ]
        self.letters = Counter(
            "".join(word[0] for word in words)
            for title in self.outline.songs.values()
            if len(words := [w for w in name_words(title) if not w.isdecimal()]) >= 2
        )
        self.two_letters = {
            each
            for each in two
            if two.count(each) == 1 and each not in SHORT_FORMS and not is_line_word(each)
        }
        self.first_words = {
            words[0]
            for words in titles
            if words and titles.count(words) == 1 and len(words[0]) >= _TELLING
        }
        self.letters_seen: set[str] = set()

    def _share_aliases(self) -> None:
        """Let what files call a part count for the parts of that name in the other songs too."""
        called: dict[str, dict[str, None]] = {}
        for part in self.outline.parts.values():
            aliases = (each.strip() for each in part.aliases.split(","))
            called.setdefault(bare(part.name), {}).update(dict.fromkeys(filter(None, aliases)))
        for parts in self.parts_of_song.values():
            taken = {bare(each) for part in parts for each in (part.name, *part.aliases.split(","))}
            for at, part in enumerate(parts):
                more = [each for each in called[bare(part.name)] if bare(each) not in taken]
                if more:
                    parts[at] = part._replace(
                        aliases=", ".join(filter(None, [part.aliases, *more]))
                    )

    def learn_letters(self, paths: Iterable[PurePath]) -> None:
        """Take letters for a title that may be a microphone too (RM), where files show they are.

        They do where they stand in capitals before names that say their microphone elsewhere.
        """
        for path in paths:
            step = path_words(path)[0]
            if not step or not is_line_word(first := step[0].plain) or first in self.letters_seen:
                continue
            elsewhere = any(is_line_word(word.plain) for word in step[2:])
            beside = len(step) > 1 and is_line_word(step[1].plain)
            if step[0].written.isupper() and elsewhere and not beside and self.letters[first] == 1:
                self.letters_seen.add(first)
                if len(first) == 2:
                    self.two_letters.add(first)


@dataclass(frozen=True, kw_only=True)
class Near:
    """What the other files of a file's folder are sure to be: songs, sessions, shares of them."""

    songs: Mapping[int, float] = field(default_factory=dict)
    sessions: Mapping[int, float] = field(default_factory=dict)


ALONE = Near()
