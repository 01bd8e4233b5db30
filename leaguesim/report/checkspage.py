"""The page of every outside check: misses first, then each room's rows with their sources.

Does not check anything; it arranges the rows that ``outside.validate`` gave.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from leaguesim import __version__
from leaguesim.report.document import contents, document, glossary, manifest_block, section
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.texts import CAUTIONS
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.report.turning import checks_turns

if TYPE_CHECKING:
    from leaguesim.outside.check import Check

HEAD = ("check", "expected", "model", "verdict", "use", "source")
HOW = (
    "Every row holds one figure that somebody outside this project published, or that a general-"
    "purpose library computes, against what the model gives. What agrees and what does not was "
    "laid down with the row, before the model was run.",
    "“fit” means that the model was fitted to that figure, so that agreement proves nothing; only "
    "rows marked “check” are evidence. A miss is shown as a miss.",
)
LIMITS = (
    "Published figures come from other lanes, balls and bowlers than yours.",
    "Rows marked “from memory” or “common practice, no source” weigh less than the others.",
    "Passing here says that the model is right about these facts, not that a forecast for one "
    "center is: only scores of that center can say so.",
)

LAST = {
    "method": "How to read this",
    "unknown": "What such checks cannot tell",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
}


def checks_page(
    rooms: "Mapping[str, Sequence[Check]]", manifest: Mapping[str, Any] | None = None
) -> str:
    """One offline HTML file with every row.

    Parameters
    ----------
    rooms : rows by the room they belong to, in order
    manifest : what is needed to repeat the run, if it was recorded
    """
    rows = [check for checks in rooms.values() for check in checks]
    keys = {name: f"room-{k}" for k, name in enumerate(rooms)}
    parts = {"misses": "What does not agree"}
    parts |= {key: name for name, key in keys.items()}
    parts |= LAST | ({"manifest": "Manifest"} if manifest else {})
    missed = [check for check in rows if check.verdict == "miss"]
    body: list[Markup] = [
        _answer(rows),
        contents(parts),
        section("misses", parts["misses"], _table("Misses", missed) if missed else None),
        *(section(keys[name], name, _table(name, checks)) for name, checks in rooms.items()),
        section("method", parts["method"], paragraphs(HOW)),
        section("unknown", parts["unknown"], bullets(LIMITS)),
        section("turn", parts["turn"], bullets(checks_turns())),
        section("cautions", parts["cautions"], bullets(CAUTIONS)),
        section("glossary", parts["glossary"], glossary()),
    ]
    if manifest:
        body.append(section("manifest", parts["manifest"], manifest_block(manifest)))
    return document(
        title="leaguesim: the model against what others published",
        header=tag("h1", "The model against what others published"),
        main=join(body),
        figures=[],
        version=__version__,
    )


def headline(rows: "Sequence[Check]") -> str:
    """How many rows that are evidence agree.

    >>> from leaguesim.outside.check import Check
    >>> headline([Check("a", "s", "1", "1", "pass"), Check("b", "s", "1", "2", "miss", "fit")])
    '1 of 1 independent checks agree; 1 more row was fitted to and is no evidence.'
    """
    evidence = [check for check in rows if check.use == "check"]
    agree = sum(check.verdict == "pass" for check in evidence)
    fitted = len(rows) - len(evidence)
    more = "row was" if fitted == 1 else "rows were"
    kind = "is no" if fitted == 1 else "are no"
    return (
        f"{agree} of {len(evidence)} independent checks agree; {fitted} more {more} fitted to "
        f"and {kind} evidence."
    )


def _answer(rows: "Sequence[Check]") -> Markup:
    missed = [check.name for check in rows if check.verdict == "miss"]
    verdict = (
        f"Verdict: {len(missed)} rows do not agree. They are listed first; weigh them before you decide."
        if missed
        else "Verdict: every row agrees."
    )
    return tag(
        "section",
        tag("p", headline(rows), class_="headline"),
        tag("p", verdict, class_="verdict"),
        class_="answer",
        aria_label="The answer",
    )


def _table(title: str, checks: "Sequence[Check]") -> Markup:
    rows = [(c.name, c.expected, c.model, c.verdict, c.use, c.source) for c in checks]
    return table(title, HEAD, rows, words_from=1, stacked=True)
