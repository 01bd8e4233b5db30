"""One page that leads to every report in a folder.

Does not read results: titles come from the pages, dates and commands from the manifests beside them.
"""

import json
import re
from dataclasses import dataclass
from html import unescape
from pathlib import Path

from leaguesim import __version__
from leaguesim.report.document import document
from leaguesim.report.markup import Markup, join, tag

PAGE = "page.html"
HEAD_LETTERS = 40_000  # the answer stands in them: only a style sheet comes before
_TITLE = re.compile(r"<title>(.*?)</title>", re.DOTALL)
_ANSWER = re.compile(r'<p class="headline">(.*?)</p>', re.DOTALL)
_TAGS = re.compile(r"<[^>]*>")


@dataclass(frozen=True)
class Entry:
    """One report: its folder's name, its title, when and how it was made, and its answer."""

    folder: str
    title: str
    made: str
    command: str
    answer: str = ""


def reports_in(folder: Path) -> list[Entry]:
    """Every report of ours directly below a folder, newest first, then by name.

    A folder counts if it holds a manifest of ours; what can't be read is left out.
    """
    found = []
    for below in sorted(folder.iterdir()):
        entry = _entry(below)
        if entry is not None:
            found.append(entry)
    return sorted(found, key=lambda e: e.made, reverse=True)


def _entry(below: Path) -> Entry | None:
    try:
        told = json.loads((below / "manifest.json").read_text(encoding="utf-8"))
        if not str(told["schema"]).startswith("leaguesim.manifest/"):
            return None
        with (below / PAGE).open(encoding="utf-8") as file:
            start = file.read(HEAD_LETTERS)
        found, answer = _TITLE.search(start), _ANSWER.search(start)
        title = unescape(found[1]) if found else below.name
        said = unescape(_TAGS.sub("", answer[1])) if answer else ""
        return Entry(below.name, title, str(told["ended"]), str(told["command_line"]), said)
    except (OSError, ValueError, KeyError, TypeError):
        return None


def index_page(entries: list[Entry]) -> str:
    """The page, with links that stay inside the folder."""
    head = tag("tr", [tag("th", w, scope="col") for w in ("report", "answer", "made", "command")])
    rows = [
        tag(
            "tr",
            tag(
                "th",
                tag("a", e.title, href=f"{_safe(e.folder)}/{PAGE}"),
                scope="row",
                class_="wrap",
            ),
            tag("td", e.answer or "–", class_="long"),
            tag("td", _moment(e.made)),
            tag("td", tag("code", _unbroken(e.command)), class_="long"),
        )
        for e in entries
    ]
    table = tag("table", tag("caption", "Reports"), tag("thead", head), tag("tbody", rows))
    count = "1 report" if len(entries) == 1 else f"{len(entries)} reports"
    main: Markup = join(
        [
            tag("p", f"{count} in this folder, the newest first.", class_="headline"),
            tag("div", table, class_="scroll", tabindex="0", role="region", aria_label="Reports"),
        ]
    )
    return document(
        title="Reports", header=tag("h1", "Reports"), main=main, figures=[], version=__version__
    )


def _unbroken(command: str) -> Markup:
    """A command that is broken between its words only, not at the hyphens of an option."""
    words = [tag("span", word, class_="whole") for word in command.split(" ")]
    return join([words[0], *(part for word in words[1:] for part in (" ", word))])


def _moment(told: str) -> str:
    """A day and minute as people write them; the zone is UTC.

    >>> _moment("2026-01-01T10:00:59+00:00")
    '2026-01-01 10:00'
    """
    return told[:16].replace("T", " ")


def _safe(name: str) -> str:
    from urllib.parse import quote

    return "./" + quote(name)
