"""Where in a TOML text each key and each list element stands: key path to line number.

Does not validate: the standard library's parser must have accepted the text before.
"""

import re
import tomllib
from bisect import bisect_right

KeyPath = tuple[str | int, ...]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")' r"|'''.*?'{3,5}(?!')" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'",
    re.DOTALL,
)


def positions(text: str) -> dict[KeyPath, int]:
    """Line (1 first) of every key and list element of a valid TOML text; ``()`` is line 1.

    A table's own line is that of its header, or of the first key that implies it.
    """
    return _Scanner(text).run()


def line_of(lines: dict[KeyPath, int], path: KeyPath) -> int:
    """Line of the path, or of the nearest table around it when it is absent."""
    while path not in lines and path:
        path = path[:-1]
    return lines.get(path, 1)


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.breaks = [i for i, sign in enumerate(self.text) if sign == "\n"]
        self.lines: dict[KeyPath, int] = {(): 1}
        self.counts: dict[KeyPath, int] = {}  # [[name]] headers seen so far

    def run(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        self.skip()
        while self.at < len(self.text):
            if self.peek() == "[":
                table = self.header()
            else:
                self.pair(table)
            self.skip()
        return self.lines

    def peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def skip(self) -> None:
        found = _BLANK.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def note(self, path: KeyPath, at: int) -> None:
        self.lines.setdefault(path, bisect_right(self.breaks, at - 1) + 1)

    def key(self) -> list[str]:
        """A dotted key; stops at the sign after it."""
        parts = []
        while True:
            self.skip()
            bare = _BARE_KEY.match(self.text, self.at)
            if bare:
                parts.append(bare.group())
                self.at = bare.end()
            else:
                start = self.at
                self.string()
                parts.append(str(tomllib.loads(f"x = {self.text[start : self.at]}")["x"]))
            self.skip()
            if self.peek() != ".":
                return parts
            self.at += 1

    def string(self) -> None:
        found = _STRING.match(self.text, self.at)
        self.at = found.end() if found else len(self.text)

    def header(self) -> KeyPath:
        start, many = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        parts = self.key()
        self.at += 2 if many else 1
        path: KeyPath = ()
        for i, part in enumerate(parts):
            path = (*path, part)
            self.note(path, start)
            if many and i == len(parts) - 1:
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        self.note(path, start)
        return path

    def pair(self, table: KeyPath) -> None:
        start, path = self.at, table
        for part in self.key():
            path = (*path, part)
            self.note(path, start)
        self.at += 1  # the equals sign
        self.value(path)

    def value(self, path: KeyPath) -> None:
        self.skip()
        sign = self.peek()
        if sign in ('"', "'"):
            self.string()
        elif sign == "[":
            self.items(path)
        elif sign == "{":
            self.inline(path)
        else:
            found = _SCALAR.match(self.text, self.at)
            self.at = found.end() if found else len(self.text)

    def items(self, path: KeyPath) -> None:
        self.at += 1
        index = 0
        self.skip()
        while self.peek() not in ("]", ""):
            self.note((*path, index), self.at)
            self.value((*path, index))
            self.separator()
            index += 1
        self.at += 1

    def inline(self, path: KeyPath) -> None:
        self.at += 1
        self.skip()
        while self.peek() not in ("}", ""):
            self.pair(path)
            self.separator()
        self.at += 1

    def separator(self) -> None:
        self.skip()
        if self.peek() == ",":
            self.at += 1
            self.skip()
