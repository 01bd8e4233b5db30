"""Maps of a lane: film, friction and their change, with the paths of each style's balls over them.

Feet run across from the foul line, boards up from the right edge; the axis on the right counts
boards from the left edge, as a left-hander does.  Does not compute film, friction or paths.
"""

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim.report.charts import WIDE
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.theme import (
    ALL,
    CHANGE_SCHEME,
    FILM_SCHEME,
    FRICTION_SCHEME,
    GroupLook,
    scale,
)
from leaguesim.units import BOARDS, LANE_LENGTH_FT

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.results import LaneLook

BOARD_TICKS = [1, 5, 10, 15, 20, 25, 30, 35, 39]
FEET_TICKS = [0, 10, 15, 20, 30, 40, 50, 60]
PATH_STEP_FT = 2.0
FILM_TOP_UNITS = 80.0  # one colour scale on every page; thicker film takes the last colour
HEIGHT = 260


def runs(table: "pd.DataFrame", columns: dict[str, int]) -> Rows:
    """Cells of equal rounded values joined along and across boards, so that pages are light and quick.

    A row has the feet ``from`` and ``to``, the edges ``low`` and ``high`` in boards from the right, and in
    words its boards from the right (``b``) and from the left (``own``).
    """
    names = ["board", "distance_ft", *columns]
    order = table.sort_values(["board", "distance_ft"])[names]
    rounded = order.round(columns)
    rows: Rows = []
    for board, feet, *values in zip(*(rounded[c].tolist() for c in names), strict=True):
        start, end = feet - 0.5, feet + 0.5
        last = rows[-1] if rows else None
        if (
            last is not None
            and last["b"] == board
            and last["to"] == start
            and all(last[c] == v for c, v in zip(columns, values, strict=True))
        ):
            last["to"] = end
            continue
        row: dict[str, Any] = {"from": start, "to": end, "b": int(board)}
        row |= zip(columns, values, strict=True)
        rows.append(row)
    return _side_by_side(rows, list(columns))


def _side_by_side(rows: Rows, columns: Sequence[str]) -> Rows:
    """Runs of neighbouring boards joined where feet and values are the same."""
    out: Rows = []
    below: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in rows:
        board = row.pop("b")
        same = (row["from"], row["to"], *(row[c] for c in columns))
        last = below.get(same)
        if last is not None and last["high"] == board - 0.5:
            last["high"] = board + 0.5
            continue
        below[same] = row
        row |= {"low": board - 0.5, "high": board + 0.5}
        out.append(row)
    for row in out:
        first, end = int(row["low"] + 0.5), int(row["high"] - 0.5)
        row["b"] = _span(first, end)
        row["own"] = _span(BOARDS + 1 - end, BOARDS + 1 - first)
    return out


def _span(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"


def lane_cells(look: "LaneLook") -> Rows:
    """Film and friction cells of one condition."""
    return runs(look.cells, {"film_units": 1, "friction": 3})


def change_cells(now: "LaneLook", then: "LaneLook") -> Rows:
    """Cells of the change of friction, next minus now."""
    both = now.cells.merge(then.cells, on=["distance_ft", "board"], suffixes=("_now", "_next"))
    both["change"] = both["friction_next"] - both["friction_now"]
    return runs(both[["distance_ft", "board", "change"]], {"change": 3})


def lane_paths(look: "LaneLook") -> Rows:
    """One row a path, thinned to every second foot and the ends; charts unfold ``x`` and ``y``.

    ``kind`` 0 is the line, 1 a miss of a board, 2 a usual miss.
    """
    kinds = {"line": 0, "board right": 1, "board left": 1}
    keys = list(zip(*(look.paths[c].tolist() for c in ("style", "hand", "release")), strict=True))
    feet, boards = look.paths["distance_ft"].tolist(), look.paths["board"].tolist()
    rows: Rows = []
    for (style, hand, release), group in groupby(range(len(keys)), key=keys.__getitem__):
        places = list(group)
        even = [i for i in places if feet[i] % PATH_STEP_FT < 1e-9 or i == places[-1]]
        kept = even if len(even) > 10 else places
        rows.append(
            {
                "style": style,
                "hand": hand,
                "release": release,
                "kind": kinds.get(str(release), 2),
                "x": [_short(feet[i], 1) for i in kept],
                "y": [_short(boards[i], 2) for i in kept],
            }
        )
    return rows


def _short(value: float, digits: int) -> float | int:
    rounded = round(float(value), digits)
    return int(rounded) if rounded.is_integer() else rounded


def _distance() -> Any:
    label = (
        "datum.value == 0 ? 'foul line' : datum.value == 15 ? '15 arrows'"
        " : datum.value == 60 ? '60 pins' : datum.label"
    )
    return alt.X(
        "from:Q",
        title="distance from the foul line, ft",
        scale=alt.Scale(domain=[0, LANE_LENGTH_FT], nice=False),
        axis=alt.Axis(
            values=FEET_TICKS, labelExpr=label, labelFlush=True, labelOverlap="greedy",
            grid=False, offset=16,
        ),
    )  # fmt: skip


def boards_axis(field: str, left_hand: bool = False) -> Any:
    return alt.Y(
        field,
        title="board from the left edge" if left_hand else "board from the right edge",
        scale=alt.Scale(domain=[0.5, BOARDS + 0.5], nice=False),
        axis=alt.Axis(
            values=BOARD_TICKS,
            grid=False,
            orient="right" if left_hand else "left",
            titlePadding=8,
            labelExpr=f"{BOARDS + 1} - datum.value" if left_hand else "datum.label",
        ),
    )


def cells_layer(data: str, fill: Any, words: list[Any]) -> Any:
    return (
        alt.Chart(alt.NamedData(data))
        .mark_rect(strokeWidth=0, aria=False)
        .encode(
            x=_distance(),
            x2=alt.X2("to:Q"),
            y=boards_axis("low:Q"),
            y2=alt.Y2("high:Q"),
            fill=fill,
            tooltip=[
                alt.Tooltip("from:Q", title="from, ft"),
                alt.Tooltip("to:Q", title="to, ft"),
                alt.Tooltip("b:N", title="board from the right"),
                alt.Tooltip("own:N", title="board from the left"),
                *words,
            ],
        )
    )


def path_words() -> list[Any]:
    """What a path tells when pointed at."""
    return [
        alt.Tooltip("style:N", title="style"),
        alt.Tooltip("hand:N", title="hand"),
        alt.Tooltip("release:N", title="released"),
    ]


def hand_dash() -> Any:
    """Left-handers' paths are dashed."""
    ways = alt.Scale(domain=["right", "left"], range=[[1, 0], [5, 2]])
    return alt.StrokeDash("hand:N", legend=None, scale=ways)


def left_axis() -> Any:
    """Boards from the left edge, on the right of a map that has no path of its own."""
    base = alt.Chart(alt.NamedData("edges")).mark_rule(opacity=0, aria=False)
    return base.encode(y=boards_axis("edge:Q", left_hand=True))


def _path_layers(data: str, looks: Sequence[GroupLook]) -> list[Any]:
    shown = f"(picked == '{ALL}' && datum.kind == 0) || datum.style == picked"
    base = (
        alt.Chart(alt.NamedData(data))
        .transform_filter(shown)
        .transform_flatten(["x", "y"])
        .encode(
            x=alt.X("x:Q"),
            detail=[alt.Detail("style:N"), alt.Detail("hand:N"), alt.Detail("release:N")],
        )
    )
    casing = base.mark_line(
        stroke="white", strokeWidth=5, opacity=0.9, clip=True, aria=False
    ).encode(y=alt.Y("y:Q", axis=None))
    thin = alt.condition("datum.kind == 0", alt.value(2.6), alt.value(1.2))
    lines = base.mark_line(clip=True, aria=False).encode(
        y=boards_axis("y:Q", left_hand=True),
        stroke=alt.condition(
            f"picked == '{ALL}'",
            alt.value("black"),
            alt.Stroke("style:N", scale=alt.Scale(**scale(looks, "colour")), legend=None),
        ),
        strokeWidth=thin,
        strokeDash=hand_dash(),
        tooltip=path_words(),
    )  # fmt: skip
    return [casing.transform_filter("datum.kind == 0"), lines]


def _edges() -> list[Any]:
    base = alt.Chart(alt.NamedData("edges"))
    words = [("left edge of the lane", BOARDS + 0.5, -8), ("right edge of the lane", 0.5, 9)]
    return [
        base.transform_filter(f"datum.edge == {y}")
        .mark_text(align="left", baseline="middle", dy=dy, fontStyle="italic", aria=False)
        .encode(x=alt.X("x:Q"), y=alt.Y("edge:Q", axis=None), text=alt.value(word))
        for word, y, dy in words
    ]


EDGE_ROWS: Rows = [{"x": 0, "edge": BOARDS + 0.5}, {"x": 0, "edge": 0.5}]


def _figure(
    key: str, title: str, about: str, cells: Any, paths: list[Any], data: dict[str, Rows]
) -> Figure:
    chart = alt.layer(cells, *paths, *_edges()).resolve_axis(y="independent")
    spec = specification(chart, about, width=WIDE, height=HEIGHT)
    return Figure(key, title, about, spec, {**data, "edges": EDGE_ROWS})


def _gradient(title: str) -> Any:
    return alt.Legend(title=title, gradientLength=180, gradientThickness=10, tickCount=4)


def _titled(what: str, when: str) -> str:
    return f"{what} {when}".rstrip()


def _mark(when: str) -> str:
    return f"-{when}" if when else ""


def film_map(
    look: "LaneLook", when: str, looks: Sequence[GroupLook], cells: Rows, paths: Rows
) -> Figure:
    """Film of one condition with the fans of ball paths."""
    about = (
        f"Oil film of {look.title or look.condition}, {look.volume_ml:.1f} mL to "
        f"{look.length_ft:.0f} ft, with the line of each style, left-handers dashed. Pick a style "
        "to see its own line and misses here; each has a chart of its own below."
    )
    fill = alt.Fill(
        "film_units:Q",
        scale=alt.Scale(scheme=FILM_SCHEME, domain=[0, FILM_TOP_UNITS], clamp=True),
        legend=_gradient("film, units"),
    )
    words = [
        alt.Tooltip("film_units:Q", title="film, units", format=".1f"),
        alt.Tooltip("friction:Q", title="friction", format=".3f"),
    ]
    data = {f"cells-{when}": cells, f"paths-{when}": paths}
    layer = cells_layer(f"cells-{when}", fill, words)
    title = f"{_titled('Film', when)}: {look.title or look.condition}"
    return _figure(
        f"film{_mark(when)}", title, about, layer, _path_layers(f"paths-{when}", looks), data
    )


def friction_map(
    look: "LaneLook", when: str, looks: Sequence[GroupLook], cells: Rows, paths: Rows, top: float
) -> Figure:
    """Friction of one condition for the reference ball, with the lines of each style."""
    about = (
        f"Friction of {look.title or look.condition} for one ball: {look.reference}. Lines as on the "
        "map of film."
    )
    fill = alt.Fill(
        "friction:Q",
        scale=alt.Scale(scheme=FRICTION_SCHEME, domain=[0, top]),
        legend=_gradient("friction"),
    )
    words = [
        alt.Tooltip("friction:Q", title="friction", format=".3f"),
        alt.Tooltip("film_units:Q", title="film, units", format=".1f"),
    ]
    data = {f"cells-{when}": cells, f"paths-{when}": paths}
    layer = cells_layer(f"cells-{when}", fill, words)
    title = f"{_titled('Friction', when)}: {look.title or look.condition}"
    lines = _path_layers(f"paths-{when}", looks)
    return _figure(f"friction{_mark(when)}", title, about, layer, lines, data)


def change_map(now: "LaneLook", then: "LaneLook") -> Figure:
    """Where the lane gets slicker or grabs more: friction next minus friction now."""
    rows = change_cells(now, then)
    most = max((abs(float(r["change"])) for r in rows), default=0.0) or 0.01
    about = (
        "Friction next minus friction now for the same ball: white where nothing changes, orange "
        "where the lane grabs more, purple where it gets slicker."
    )
    fill = alt.Fill(
        "change:Q",
        scale=alt.Scale(scheme=CHANGE_SCHEME, domain=[-most, most], domainMid=0),
        legend=_gradient("change of friction"),
    )
    words = [alt.Tooltip("change:Q", title="change of friction", format="+.3f")]
    layer = cells_layer("cells-change", fill, words)
    data = {"cells-change": rows}
    return _figure("friction-change", "Where the lane changes", about, layer, [left_axis()], data)


def top_of(looks: Sequence["LaneLook"], column: str) -> float:
    """The largest value of a cell column over several looks, for one common scale."""
    return max((float(look.cells[column].max()) for look in looks), default=1.0) or 1.0
