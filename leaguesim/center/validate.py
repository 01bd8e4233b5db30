"""One TOML file against its model: read it, and say every fault with its line.

Does not look at other files.
"""

import re
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from leaguesim.center.faults import Faults, did_you_mean, key_text, listing, shown, wrote
from leaguesim.center.keys import File
from leaguesim.center.positions import KeyPath, line_of, positions

FILE_LIMIT_BYTES = 5_000_000
BOOKS = (".xlsx", ".xls", ".ods")  # what spreadsheets write when they are not asked for CSV
NEAR = 0.8  # likeness of a file's name that is worth telling: scores.csv is not roster.csv

_AT_LINE = re.compile(r"\s*\(at line (\d+), column (\d+)\)$")
_KEYS = re.compile(r"\((?:'[^']*',? ?)+\)")  # how the parser tells a dotted key
_AT_END = re.compile(r"\s*\(at end of document\)$")
_KINDS = {
    "bool_type": "true or false",
    "string_type": "a text",
    "list_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "float_type": "a number",
    "int_type": "a whole number",
}


@dataclass(frozen=True)
class Source:
    """A text file as found: its name for people, its bytes' text, and what the TOML says."""

    file: str
    text: str
    data: dict[str, Any]

    @cached_property
    def lines(self) -> dict[KeyPath, int]:
        """Where each key stands; looked for only once something is wrong."""
        try:
            return positions(self.text)
        except RecursionError:
            return {}

    def line(self, path: KeyPath) -> int:
        """Line of a key, or of the table it is missing from."""
        return line_of(self.lines, path)


def read_text(path: Path, file: str, faults: Faults) -> tuple[str, bytes] | None:
    """Text (a byte-order mark is dropped) and bytes of a file; None after noting a fault."""
    faults.open(file)
    try:
        if not path.is_file():
            folder = path.is_dir()
            what = "a folder where a file is needed" if folder else f"missing file{_instead(path)}"
            faults.add(file, None, "", what)
            return None
        if path.stat().st_size > FILE_LIMIT_BYTES:
            faults.add(file, None, "", f"too long: allowed are {FILE_LIMIT_BYTES // 10**6} MB")
            return None
        raw = path.read_bytes()
    except OSError as fault:
        faults.add(file, None, "", f"cannot be read: {fault.strerror or fault}")
        return None
    try:
        return raw.decode("utf-8-sig"), raw
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        how = " (in the spreadsheet: Save as, CSV UTF-8)" if path.suffix.lower() == ".csv" else ""
        what = f"not UTF-8 text (byte 0x{raw[fault.start]:02x}): save it as UTF-8{how}"
        faults.add(file, line, "", what)
        return None


def _instead(path: Path) -> str:
    """What lies beside a missing file under nearly its name, or as a spreadsheet's own file."""
    if not path.parent.is_dir():
        return ""
    there = sorted(p.name for p in path.parent.iterdir() if p.is_file())
    books = [n for n in there if n.casefold() in {f"{path.stem}{s}".casefold() for s in BOOKS}]
    if books and path.suffix.lower() == ".csv":
        return f"; there is {shown(books[0])}: in the spreadsheet, Save as, CSV UTF-8"
    alike = {n.casefold(): n for n in there if Path(n).suffix.lower() == path.suffix.lower()}
    near = get_close_matches(path.name.casefold(), list(alike), n=1, cutoff=NEAR)
    return f"; did you mean {shown(alike[near[0]])}? It must be called {path.name}" if near else ""


def parse(text: str, file: str, faults: Faults) -> Source | None:
    """The TOML of a text with its positions; None after noting a syntax fault."""
    try:
        return Source(file, text, tomllib.loads(text))
    except tomllib.TOMLDecodeError as fault:
        message, last = str(fault), text.count("\n") + 1
        found = _AT_LINE.search(message)
        line, column = (int(found[1]), int(found[2])) if found else (last, 0)
        what = _AT_END.sub(" at the end of the file", _AT_LINE.sub("", message))
        what = _KEYS.sub(lambda m: ".".join(re.findall("'([^']*)'", m[0])), what)
        where = f" at column {column}" if column else ""
        faults.add(file, line, "", f"not valid TOML{where}: {what}{_hint(text, line)}")
    except RecursionError:
        faults.add(file, 1, "", "not valid TOML: brackets are nested too deeply")
    except ValueError:  # the parser refuses nothing else in this way
        faults.add(file, 1, "", "not valid TOML: a number of thousands of digits")
    return None


def _hint(text: str, line: int) -> str:
    lines = text.splitlines()
    return f" in: {shown(lines[line - 1].strip()[:60])}" if 0 < line <= len(lines) else ""


def check_model(source: Source, model: type[File], faults: Faults) -> File | None:
    """The file as a model; None after noting every fault that the model finds."""
    try:
        return model.model_validate(source.data)
    except ValidationError as found:
        for error in found.errors(include_url=False):
            path = tuple(error["loc"])
            line = source.line(path)
            faults.add(source.file, line, key_text(path), _sentence(model, path, dict(error)))
    return None


def _sentence(model: type[File], path: KeyPath, error: dict[str, Any]) -> str:
    """What is wrong, what is allowed, what was written."""
    kind, value = error["type"], error["input"]
    words = _words(model, path)
    allowed = words.get("allowed") or _KINDS.get(kind) or _plain(error)
    if kind == "extra_forbidden":
        owner = _owner(model, path[:-1])
        names = list(owner.model_fields) if owner else []
        name = str(path[-1])
        top = _step(model, name)[0] if len(path) > 1 and name in model.model_fields else None
        above = top is not None and not (isinstance(top, type) and issubclass(top, BaseModel))
        hint = (
            f"; {name} belongs above the first line in brackets"
            if above
            else did_you_mean(name, names)
        )
        return f"unknown key: allowed are {listing(names)}, you wrote {shown(name)} = {wrote(value)}{hint}"
    if kind == "missing":
        return f"missing: {words.get('allowed') or _shape(model, path)} is needed"
    what, why = "wrong type", ""
    if kind in ("greater_than", "greater_than_equal"):
        what, why = "too small", words.get("below", "")
    elif kind in ("less_than", "less_than_equal"):
        what, why = "too large", words.get("above", "")
    elif kind == "finite_number":
        what = "not a finite number"
    elif kind == "literal_error":
        what = "unknown word"
    elif kind.endswith(("too_short", "too_long")):
        what = "too short" if kind.endswith("short") else "too long"
    why = f" ({why})" if why else ""
    hint = ""
    if kind == "literal_error":
        hint = did_you_mean(str(value), re.findall(r"'([^']*)'", allowed))
    return f"{what}{why}: allowed is {allowed}, you wrote {wrote(value)}{hint}"


def _plain(error: dict[str, Any]) -> str:
    ctx = error.get("ctx", {})
    if "expected" in ctx:
        return str(ctx["expected"])
    if error["type"] == "string_too_long":
        return f"a text of up to {ctx['max_length']} signs"
    if error["type"] == "too_short":
        return f"a list of at least {ctx['min_length']}"
    if error["type"] == "too_long":
        return f"a list of up to {ctx['max_length']}"
    return str(error["msg"])


def _unwrap(annotation: Any) -> tuple[Any, dict[str, str]]:
    """The bare type under Annotated and ``| None``, with the words found on the way."""
    words: dict[str, str] = {}
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *extras = get_args(annotation)
            for extra in extras:
                words = _words_of(extra) or words
            continue
        rest = [part for part in get_args(annotation) if part is not type(None)]
        if len(rest) == 1 and len(get_args(annotation)) == 2 and get_origin(annotation) is not list:
            annotation = rest[0]
            continue
        return annotation, words


def _words_of(info: Any) -> dict[str, str]:
    extra = info.json_schema_extra if isinstance(info, FieldInfo) else None
    found = extra.get("words") if isinstance(extra, dict) else None
    return {str(k): str(v) for k, v in found.items()} if isinstance(found, dict) else {}


def _step(annotation: Any, part: str | int) -> tuple[Any, dict[str, str]]:
    """The annotation one key or index further in."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        info = annotation.model_fields.get(str(part))
        if info is None:
            return None, {}
        inner, words = _unwrap(info.annotation)
        return inner, _words_of(info) or words
    args = get_args(annotation)
    if get_origin(annotation) is list:
        return _unwrap(args[0])
    if get_origin(annotation) is dict:
        return _unwrap(args[1])
    return None, {}


def _walk(model: type[File], path: KeyPath) -> tuple[Any, dict[str, str]]:
    here: Any = model
    words: dict[str, str] = {}
    for part in path:
        here, words = _step(here, part)
    return here, words


def _words(model: type[File], path: KeyPath) -> dict[str, str]:
    return _walk(model, path)[1]


def _owner(model: type[File], path: KeyPath) -> type[BaseModel] | None:
    here = _walk(model, path)[0]
    return here if isinstance(here, type) and issubclass(here, BaseModel) else None


def _shape(model: type[File], path: KeyPath) -> str:
    here = _walk(model, path)[0]
    if isinstance(here, type) and issubclass(here, BaseModel):
        return "a table with " + ", ".join(here.model_fields)
    if get_origin(here) is list:
        return "a list"
    if get_origin(here) is dict:
        return "a table of shares"
    if get_origin(here) is Literal:
        return "one of " + ", ".join(map(repr, get_args(here)))
    return "a value"
