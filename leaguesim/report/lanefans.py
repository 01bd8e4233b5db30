"""Path fans style by style, miss room as where balls end up, and film after each game of a night.

Does not roll balls or wear lanes; ``study.look`` did.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim.outside.figures import figures
from leaguesim.report.charts import FOLLOWS, HALF, WIDE, rounded, when_scale
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.lanemaps import EDGE_ROWS, cells_layer, hand_dash, left_axis, path_words, runs
from leaguesim.report.theme import (
    CHANGE_SCHEME,
    INK,
    NEXT_COLOUR,
    NOW_COLOUR,
    GroupLook,
)
from leaguesim.units import BOARDS, CENTRE_BOARD, LANE_LENGTH_FT

if TYPE_CHECKING:
    from leaguesim.study.results import LaneLook

FAN_HEIGHT = 170
WORN_STEP_UNITS = 0.5  # smaller changes of film are not drawn
CARRIED_TOP_UNITS = 2.0
WORN_TOP_UNITS = 10.0  # one colour scale on every page; larger changes take the last colour
FAN_FEET = [0, 15, 30, 45, 60]
MARKS = {"line": "circle", "board right": "triangle-right", "board left": "triangle-left"}


def fan_figures(
    paths: dict[str, Rows], looks: Sequence[GroupLook], *, length_ft: float | None = None
) -> Iterator[Figure]:
    """One chart a style: its line, a board wide to either side, and usual misses.

    Parameters
    ----------
    paths : rows of ``lanemaps.lane_paths`` by '' (one condition) or 'now' and 'next'
    length_ft : end of the pattern, drawn as a rule
    """
    for k, look in enumerate(looks):
        yield _fan(k, look, paths, length_ft)


def _fan(k: int, look: GroupLook, paths: dict[str, Rows], length_ft: float | None) -> Figure:
    mine = {when: [r for r in rows if r["style"] == look.name] for when, rows in paths.items()}
    both = {r["hand"] for rows in mine.values() for r in rows}
    inks = {"": look.colour, "now": NOW_COLOUR, "next": NEXT_COLOUR}
    told = "Grey now, blue next: " if "now" in paths else ""
    hands = " Left-handers dashed, their boards on the right." if "left" in both else ""
    about = (
        f"{told}thick the line, thin a board wide at the arrows to either side"
        f"{'' if told else ', faint usual misses'}.{hands}"
    )
    layers = [
        part
        for when in paths
        for part in _fan_layers(
            f"paths-{when}", look.name, inks[when], "left" in both, 1 if when else 2
        )
    ]
    data = {f"paths-{when}": rows for when, rows in paths.items()}
    if length_ft is not None:
        layers.insert(0, _end_rule())
        data["oil-end"] = [{"x": length_ft}]
    chart = alt.layer(*layers)
    if "left" in both:
        chart = chart.resolve_axis(y="independent")
    about = about[0].upper() + about[1:]
    spec = specification(chart, about, width=HALF, height=FAN_HEIGHT)
    return Figure(f"fan-{k}", f"Paths: {look.name}", about, spec, data, False, look.name)


def _end_rule() -> Any:
    """Where the oil ends."""
    base = alt.Chart(alt.NamedData("oil-end")).mark_rule(
        color=INK, strokeDash=[2, 3], opacity=0.6, aria=False
    )
    return base.encode(x=alt.X("x:Q"))


def _fan_layers(data: str, style: str, ink: str, lefts: bool, most: int) -> list[Any]:
    y = alt.Y(
        "y:Q", title="board from the right edge",
        scale=alt.Scale(domain=[0.5, BOARDS + 0.5], nice=False),
        axis=alt.Axis(values=[1, 10, 20, 30, 39], grid=False),
    )  # fmt: skip
    base = (
        alt.Chart(alt.NamedData(data))
        .transform_filter(f"datum.style == {style!r} && datum.kind <= {most}")
        .transform_flatten(["x", "y"])
        .mark_line(clip=True, aria=False, stroke=ink)
        .encode(
            x=alt.X(
                "x:Q", title="distance from the foul line, ft",
                scale=alt.Scale(domain=[0, LANE_LENGTH_FT], nice=False),
                axis=alt.Axis(values=FAN_FEET, grid=False),
            ),
            y=y,
            detail=[alt.Detail("hand:N"), alt.Detail("release:N")],
            strokeWidth=alt.StrokeWidth(
                "kind:O", legend=None, scale=alt.Scale(domain=[0, 1, 2], range=[2.6, 1.3, 1.0])
            ),
            strokeOpacity=alt.StrokeOpacity(
                "kind:O", legend=None, scale=alt.Scale(domain=[0, 1, 2], range=[1.0, 0.9, 0.35])
            ),
            strokeDash=hand_dash(),
            tooltip=path_words(),
        )
    )  # fmt: skip
    if not lefts:
        return [base]
    own = alt.Y(
        "y:Q", title="from the left edge",
        scale=alt.Scale(domain=[0.5, BOARDS + 0.5], nice=False),
        axis=alt.Axis(
            values=[1, 10, 20, 30, 39], grid=False, orient="right",
            labelExpr=f"{BOARDS + 1} - datum.value",
        ),
    )  # fmt: skip
    right = base.transform_filter("datum.hand == 'right'")
    return [right, base.transform_filter("datum.hand == 'left'").encode(y=own)]


def miss_rows(looks: dict[str, "LaneLook"]) -> Rows:
    """Where three balls of each style and hand end: the line, and a board wide to either side.

    ``board`` is the ball's centre at the pins from the bowler's own edge.
    """
    rows: Rows = []
    for when, look in looks.items():
        for r in look.arrivals.to_dict("records"):
            end = CENTRE_BOARD - r["offset_board"]
            ends = {
                "line": end,
                "outside": end - r["outside_miss_board"],
                "inside": end - r["inside_miss_board"],
            }
            told = {
                "line": "on the line",
                "outside": "a board wide to the outside",
                "inside": "a board wide to the inside",
            }
            marks = dict(zip(told, MARKS, strict=True))
            rows += [
                {
                    "label": f"{r['style']}, {r['hand']}", "style": r["style"], "when": when,
                    "mark": marks[what], "told": told[what], "board": rounded(board, 2),
                    "low": rounded(min(ends.values()), 2), "high": rounded(max(ends.values()), 2),
                    "hand": r["hand"],
                }
                for what, board in ends.items()
            ]  # fmt: skip
    return rows


def miss_figure(looks: dict[str, "LaneLook"]) -> Figure:
    """Miss room drawn as what it is: where balls a board wide at the arrows end up.

    Parameters
    ----------
    looks : by '' (one condition) or 'now' and 'next'
    """
    rows = miss_rows(looks)
    zone = figures("pins")["good_zone"]["boards"]
    ends = [float(r[k]) for r in rows for k in ("low", "high") if r[k] is not None]
    reach = [max([*ends, CENTRE_BOARD]) + 0.7, min([*ends, min(zone)]) - 0.7]
    two = len(looks) > 1
    about = (
        "Where a ball ends at the pins: disc on the line, triangles with the feet unmoved and a "
        "board wide at the arrows to the outside (pointing right) and to the inside. A short bar "
        "forgives. Shaded: the good zone of a pin-carry study (boards 17 to 18). Seen down the lane "
        "by a right-hander; boards from the bowler's own edge, a left-hander reads it in a mirror."
    )
    y = alt.Y("label:N", sort=None, title=None, axis=alt.Axis(grid=True, ticks=False))
    x_title = "board at the pins, from own edge"
    scale = alt.Scale(domain=reach, nice=False)
    base = alt.Chart(alt.NamedData("misses")).encode(
        y=y, opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.2))
    )
    if two:
        base = base.encode(
            yOffset=alt.YOffset("when:N", sort=["now", "next"]),
            color=alt.Color("when:N", title=None, scale=when_scale("colour")),
        )
    ink: dict[str, Any] = {} if two else {"color": NEXT_COLOUR}
    bars = base.mark_rule(strokeWidth=2, aria=False, clip=True, **ink).encode(
        x=alt.X("low:Q", title=x_title, scale=scale, axis=alt.Axis(grid=False, tickMinStep=1)),
        x2="high:Q",
    )
    marks = base.mark_point(size=70, filled=True, aria=False, clip=True, **ink).encode(
        x=alt.X("board:Q", title=x_title, scale=scale),
        shape=alt.Shape(
            "mark:N", legend=None,
            scale=alt.Scale(domain=list(MARKS), range=list(MARKS.values())),
        ),
        tooltip=[
            alt.Tooltip("style:N", title="style"),
            alt.Tooltip("hand:N", title="hand"),
            alt.Tooltip("told:N", title="released"),
            alt.Tooltip("board:Q", title="ends at board", format=".1f"),
            *([alt.Tooltip("when:N", title="condition")] if two else []),
        ],
    )  # fmt: skip
    band = (
        alt.Chart(alt.NamedData("zone"))
        .mark_rect(color=INK, opacity=0.12, aria=False)
        .encode(x=alt.X("a:Q", title=x_title, scale=scale), x2="b:Q")
    )
    spec = specification(
        alt.layer(band, bars, marks), about, width=WIDE, height={"step": 13 if two else 22}
    )
    data: dict[str, Rows] = {"misses": rows, "zone": [{"a": zone[0], "b": zone[1]}]}
    return Figure("miss-room", "Miss room: where a ball a board wide ends", about, spec, data)


def worn_figures(look: "LaneLook", when: str = "", *, last_only: bool = False) -> Iterator[Figure]:
    """Change of film after each game of a night against the film before it; none if not worn."""
    if look.worn is None:
        return
    fresh = look.worn[look.worn["game"] == 0]["film_units"].to_numpy()
    last = int(look.worn["game"].max())
    for game in range(last if last_only else 1, last + 1):
        after = look.worn[look.worn["game"] == game]
        change = (after["film_units"].to_numpy() - fresh) / WORN_STEP_UNITS
        cells = after[["distance_ft", "board"]].assign(change=change.round() * WORN_STEP_UNITS)
        yield _worn(look, when, game, runs(cells[cells["change"] != 0.0], {"change": 1}))


def _worn(look: "LaneLook", when: str, game: int, rows: Rows) -> Figure:
    key = f"worn-{when}-{game}" if when else f"worn-{game}"
    about = (
        f"Film after game {game} less film before the night, mean of 16 nights and both lanes, "
        "eight bowlers of this roster's styles: orange worn away, purple carried there."
    )
    whole = {"from": 0.0, "to": LANE_LENGTH_FT, "b": 0, "change": 0.0, "own": 0}
    whole |= {"low": 0.5, "high": BOARDS + 0.5}
    fill = alt.Fill(
        "change:Q",
        scale=alt.Scale(
            scheme=CHANGE_SCHEME, domain=[-WORN_TOP_UNITS, CARRIED_TOP_UNITS], domainMid=0,
            clamp=True, reverse=True,
        ),
        legend=alt.Legend(
            title="change of film, units", gradientLength=180, gradientThickness=10, tickCount=4
        ),
    )  # fmt: skip
    words = [alt.Tooltip("change:Q", title="change of film, units", format="+.1f")]
    cells = cells_layer(key, fill, words)
    chart = alt.layer(cells, left_axis()).resolve_axis(y="independent")
    spec = specification(chart, about, width=WIDE, height=180)
    title = f"Wear {when}".rstrip() + f" after game {game}: {look.title or look.condition}"
    return Figure(key, title, about, spec, {key: [whole, *rows], "edges": EDGE_ROWS})
