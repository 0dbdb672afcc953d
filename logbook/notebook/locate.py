"""Where in a TOML text each key stands, since the standard library's reader does not say.

Only texts that `tomllib` has already accepted are walked, so nothing is validated here. A place
is a path of keys and, inside arrays, of indexes counted from 0: the third piece of a comp is at
`("song", 0, "version", 0, "part", 1, "comp", 2)`. Lines are counted from 1.

Source of the grammar: TOML 1.0.0 (toml.io).
"""

from __future__ import annotations

Path = tuple[str | int, ...]

_BARE = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_-")


def locate(text: str) -> dict[Path, int]:
    """Return the line of every key, table and array item of a valid TOML text.

    A table that is opened several times, or only in passing, has the line where it first came up.
    """
    return _Walker(text.replace("\r\n", "\n")).walk()


def nearest_line(lines: dict[Path, int], path: Path) -> int:
    """Return the line of a path, or of the nearest table or array around it; 1 for none."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class _Walker:
    """A cursor over the text that notes the line of everything it passes."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._arrays: dict[Path, int] = {}
        self._counted_to = 0
        self._line = 1

    def walk(self) -> dict[Path, int]:
        table: Path = ()
        while self._skip_blank():
            if self.text.startswith("[[", self.at):
                table = self._header(2)
            elif self.text[self.at] == "[":
                table = self._header(1)
            else:
                self._key_value(table)
        return self.lines

    def _line_here(self) -> int:
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        return self._line

    def _note(self, path: Path) -> None:
        self.lines.setdefault(path, self._line_here())

    def _skip_blank(self) -> bool:
        """Move to the next character that means something; False at the end."""
        while self.at < len(self.text):
            character = self.text[self.at]
            if character == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif character in " \t\n\r":
                self.at += 1
            else:
                return True
        return False

    def _skip_spaces(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self.at += 1

    def _header(self, brackets: int) -> Path:
        line_start = self.at
        self.at += brackets
        keys = self._keys()
        self.at, after = line_start, self.at
        path: Path = ()
        for key in keys[:-1]:
            path = self._inside((*path, key))
        path = (*path, keys[-1])
        self._note(path)
        if brackets == 2:
            index = self._arrays.get(path, -1) + 1
            self._arrays[path] = index
            path = (*path, index)
            self._note(path)
        else:
            path = self._inside(path)
        self.at = after + brackets
        return path

    def _inside(self, path: Path) -> Path:
        """Step into the last table of an array of tables, and into a plain table as it is."""
        self._note(path)
        return (*path, self._arrays[path]) if path in self._arrays else path

    def _keys(self) -> list[str]:
        """Read a key with its dots."""
        keys = []
        while True:
            self._skip_spaces()
            keys.append(self._key())
            self._skip_spaces()
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def _key(self) -> str:
        start = self.at
        if self.text[start] in "\"'":
            self._string()
            import tomllib  # Commands come past here too, and only files are TOML.

            return str(tomllib.loads("key = " + self.text[start : self.at])["key"])
        while self.text[self.at] in _BARE:
            self.at += 1
        return self.text[start : self.at]

    def _key_value(self, table: Path) -> None:
        start = self.at
        keys = self._keys()
        self.at, after = start, self.at
        path = table
        for key in keys:
            path = (*path, key)
            self._note(path)
        self.at = after + 1  # past the equals sign
        self._skip_spaces()
        self._value(path)

    def _value(self, path: Path) -> None:
        character = self.text[self.at]
        if character in "\"'":
            self._string()
        elif character == "[":
            self._array(path)
        elif character == "{":
            self._inline_table(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
                self.at += 1

    def _array(self, path: Path) -> None:
        self.at += 1
        index = 0
        while self._skip_blank() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self._note((*path, index))
            self._value((*path, index))
            index += 1
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while self._skip_blank() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self._key_value(path)
        self.at += 1

    def _string(self) -> None:
        quote = self.text[self.at]
        triple = self.text.startswith(quote * 3, self.at)
        self.at += 3 if triple else 1
        while True:
            if self.text[self.at] == "\\" and quote == '"':
                self.at += 2
            elif triple and self.text.startswith(quote * 3, self.at):
                self.at += 3
                # A multi-line string may end in one or two quotes of its own.
                while self.at < len(self.text) and self.text[self.at] == quote:
                    self.at += 1
                return
            elif not triple and self.text[self.at] == quote:
                self.at += 1
                return
            else:
                self.at += 1
