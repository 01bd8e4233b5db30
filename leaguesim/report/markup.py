"""HTML put together so that every piece of text is escaped unless it is already markup.

Does not know what a page is about.
"""

from collections.abc import Iterable, Mapping, Sequence
from html import escape

WRAPS, LONG = 20, 60  # letters; a shorter cell stays on one line, a long one gets more room
VOID = frozenset({"meta", "input", "br", "link", "hr"})


class Markup(str):
    """Text that is HTML already and must not be escaped again."""

    __slots__ = ()


Child = str | Iterable[str] | None


def text(value: str) -> Markup:
    """A piece of text as markup, per cent signs kept on the line of their figure."""
    if isinstance(value, Markup):
        return value
    return Markup(escape(value, quote=False).replace(" %", "\u00a0%"))


def join(children: Iterable[Child]) -> Markup:
    """Several children one after the other; None is left out."""
    parts: list[str] = []
    for child in children:
        if child is None:
            continue
        parts.append(text(child) if isinstance(child, str) else join(child))
    return Markup("".join(parts))


def tag(name: str, /, *children: Child, **attributes: str | bool | None) -> Markup:
    """An element.  Attribute ``class_`` becomes class, ``aria_label`` becomes aria-label.

    True gives a bare attribute; None and False leave it out.

    >>> tag("b", "1 < 2", class_="x")
    '<b class="x">1 &lt; 2</b>'
    """
    inner = "".join(
        f" {key.rstrip('_').replace('_', '-')}" + ("" if value is True else f'="{escape(value)}"')
        for key, value in attributes.items()
        if isinstance(value, str) or value is True
    )
    if name in VOID:
        return Markup(f"<{name}{inner}>")
    return Markup(f"<{name}{inner}>{join(children)}</{name}>")


def paragraphs(lines: Iterable[str]) -> Markup:
    """One paragraph a line."""
    return join(tag("p", line) for line in lines)


def bullets(lines: Iterable[str]) -> Markup:
    """A list, one item a line."""
    return tag("ul", [tag("li", line) for line in lines])


def table(
    caption: str,
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    numeric_from: int = 1,
    words_from: int | None = None,
    row_data: Sequence[Mapping[str, str]] | None = None,
    stacked: bool = False,
) -> Markup:
    """A table with a caption, column scopes and a scoped first cell in every row.

    Parameters
    ----------
    numeric_from, words_from : columns from the first on, up to the second, are set flush right
    row_data : data attributes of each row, such as {"style": "stroker"}
    stacked : on a phone every row becomes a block of lines, each with its column's head; for sentences
    """

    def place(k: int, value: str) -> str | None:
        room = "long" if len(value) > LONG else "wrap" if len(value) > WRAPS else None
        return " ".join(word for word in (align(k) if k else None, room) if word) or None

    def align(k: int) -> str | None:
        if words_from is not None and k >= words_from:
            return "words"
        return "number" if k >= numeric_from else None

    heading = tag("tr", [tag("th", h, scope="col", class_=align(k)) for k, h in enumerate(head)])
    body = []
    for i, row in enumerate(rows):
        cells = [
            tag("th", value, scope="row", class_=place(0, value))
            if k == 0
            else tag("td", value, class_=place(k, value), data_head=head[k] if stacked else None)
            for k, value in enumerate(row)
        ]
        data = {f"data_{key}": value for key, value in row_data[i].items()} if row_data else {}
        body.append(tag("tr", cells, **data))
    inner = tag(
        "table",
        tag("caption", caption),
        tag("thead", heading),
        tag("tbody", body),
        class_="stacked" if stacked else None,
    )
    label = f"Table: {caption}"
    return tag("div", inner, class_="scroll", tabindex="0", role="region", aria_label=label)
