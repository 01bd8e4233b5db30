"""Maps of the pins' answer: strike rate, commonest leave, corner pins, pins off their spot.

Seen down the lane: the right edge is on the right. Does not compute an outcome; ``pins.maps`` does.
"""

from functools import lru_cache
from typing import Any

import altair as alt
import numpy as np

from leaguesim.outside.figures import figures
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.doubt import strike_rate_doubt
from leaguesim.pins.maps import LEAGUE_KG, LEAGUE_MPS, OFF_SPOT_M, carry_map
from leaguesim.pins.spec import pins_in
from leaguesim.report.charts import WIDE
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.theme import FILM_SCHEME, FRICTION_SCHEME, INK
from leaguesim.units import CENTRE_BOARD, LB_KG, MPH_MPS

OFFSETS = np.arange(-5.75, 7.01, 0.5)
ANGLES = np.arange(-0.75, 8.0, 0.5)
WIDE_OFFSETS = np.arange(-5.5, 7.01, 1.0)
WIDE_ANGLES = np.arange(0.0, 8.0, 2.0)
HEIGHT = 250
BOARD_ENDS = [26.0, 13.0]
ANGLE_ENDS = [-1.0, 8.0]

INTRODUCTION = (
    "What the pins do with a ball, by the board where it crosses 60 ft and its entry angle: a "
    f"{LEAGUE_KG / LB_KG:.0f} lb ball at {LEAGUE_MPS / MPH_MPS:.1f} mph, right-hander; a left-hander "
    "reads it in a mirror. It is the same on every condition: a condition decides where on these "
    "maps balls arrive. Recorded shots of a rigid-body model, not filmed shots."
)


@lru_cache(maxsize=1)
def carry_rows() -> tuple[Rows, Rows]:
    """Cells of the fine maps, and of the coarser map of leaves."""
    library = CarryLibrary.load()
    fine = carry_map(library, OFFSETS, ANGLES)
    doubt = strike_rate_doubt(
        fine.offset_board, fine.entry_deg, LEAGUE_MPS, LEAGUE_KG, library=library, draws=60
    )
    cells: Rows = []
    for i in range(len(fine.strike)):
        row = _box(fine.offset_board[i], fine.entry_deg[i], 0.25, 0.25)
        shares = {"strike": fine.strike[i], "doubt": doubt[i], "ten": fine.ten[i]}
        shares |= {"seven": fine.seven[i], "corner": fine.ten[i] + fine.seven[i]}
        shares["off"] = fine.off_spot[i]
        cells.append(row | {name: round(float(share), 3) for name, share in shares.items()})
    wide = carry_map(library, WIDE_OFFSETS, WIDE_ANGLES + 1.0)
    leaves: Rows = []
    for i in range(len(wide.leave)):
        if wide.leave[i] < 0:
            continue
        row = _box(wide.offset_board[i], wide.entry_deg[i], 0.5, 1.0)
        share, pins = float(wide.leave_share[i]), pins_in(int(wide.leave[i]))
        row |= {"leave": "-".join(map(str, pins)), "share": round(share, 3)}
        row |= {"strike": round(float(wide.strike[i]), 3)}
        leaves.append(row)
    return cells, leaves


def _box(offset: float, angle: float, half_board: float, half_deg: float) -> dict[str, Any]:
    board = CENTRE_BOARD - offset
    return {
        "board": round(board, 2), "angle": round(angle, 2),
        "b0": round(board - half_board, 2), "b1": round(board + half_board, 2),
        "a0": round(angle - half_deg, 2), "a1": round(angle + half_deg, 2),
    }  # fmt: skip


def _x(field: str) -> Any:
    return alt.X(
        field,
        title="board where the ball crosses 60 ft (20: head pin)",
        scale=alt.Scale(domain=BOARD_ENDS, nice=False),
        axis=alt.Axis(values=list(range(14, 27, 2)), grid=False, format="d"),
    )


def _y(field: str, low: float = ANGLE_ENDS[0]) -> Any:
    return alt.Y(
        field,
        title="entry angle, degrees",
        scale=alt.Scale(domain=[low, ANGLE_ENDS[1]], nice=False),
        axis=alt.Axis(values=[0, 2, 4, 6, 8], grid=False, format="d"),
    )


def _cells(data: str, field: str, title: str, scheme: Any, words: list[Any], top: float) -> Any:
    fill = alt.Fill(
        f"{field}:Q",
        scale=alt.Scale(scheme=scheme, domain=[0, top], clamp=True),
        legend=alt.Legend(
            title=title, gradientLength=180, gradientThickness=10, tickCount=4, format=".0%"
        ),
    )  # fmt: skip
    place = [
        alt.Tooltip("board:Q", title="board at 60 ft"),
        alt.Tooltip("angle:Q", title="entry angle, degrees"),
    ]
    return (
        alt.Chart(alt.NamedData(data))
        .mark_rect(strokeWidth=0, aria=False, clip=True)
        .encode(
            x=_x("b0:Q"), x2=alt.X2("b1:Q"), y=_y("a0:Q"), y2=alt.Y2("a1:Q"),
            fill=fill, tooltip=[*place, *words],
        )
    )  # fmt: skip


def _share(field: str, title: str) -> Any:
    return alt.Tooltip(f"{field}:Q", title=title, format=".1%")


def _facts() -> tuple[list[Any], Rows]:
    """The published best hit and good zone as marks over a map."""
    facts = figures("pins")
    zone, best = facts["good_zone"], facts["best_hit"]
    rows: Rows = [
        {
            "f0": zone["boards"][0], "f1": zone["boards"][1], "g0": min(zone["entry_deg"]),
            "g1": max(zone["entry_deg"]), "fb": best["board"], "ga": best["entry_deg"],
        }
    ]  # fmt: skip
    base = alt.Chart(alt.NamedData("facts"))
    box = base.mark_rect(fill=None, stroke="white", strokeWidth=2, strokeDash=[4, 3], aria=False)
    rim = base.mark_rect(fill=None, stroke="black", strokeWidth=4, opacity=0.5, aria=False)
    place = {
        "x": _x("f0:Q"), "x2": alt.X2("f1:Q"), "y": _y("g0:Q"), "y2": alt.Y2("g1:Q"),
    }  # fmt: skip
    dot = base.mark_point(
        shape="diamond", size=110, filled=True, fill="white", stroke="black", aria=False, opacity=1
    ).encode(x=_x("fb:Q"), y=_y("ga:Q"))
    return [rim.encode(**place), box.encode(**place), dot], rows


def strike_map() -> Figure:
    """Strike rate, with the published facts marked."""
    cells, _ = carry_rows()
    marks, facts = _facts()
    about = (
        "Share of strikes. Diamond: the best hit a pin-carry study found (board 17.5 at 6 degrees); "
        "dashed box: its good zone (boards 17 to 18 at 4 to 6 degrees)."
    )
    words = [
        _share("strike", "strikes"),
        _share("doubt", "give or take, pins' properties not known"),
    ]
    chart = alt.layer(_cells("carry", "strike", "strikes", FILM_SCHEME, words, 1.0), *marks)
    return _figure("carry-strikes", "Strikes", about, chart, {"carry": cells, "facts": facts})


def leave_map() -> Figure:
    """The commonest leave by region."""
    _, leaves = carry_rows()
    about = (
        "The commonest leave of balls that are no strike; the darker, the larger its share of them. "
        "Pale regions leave many things about equally often."
    )
    words = [
        alt.Tooltip("leave:N", title="commonest leave"),
        _share("share", "share of balls that are no strike"),
        _share("strike", "strikes"),
    ]
    cells = _cells("leaves", "share", "its share of non-strikes", "blues", words, 0.8)
    cells = cells.encode(y=_y("a0:Q", 0.0), stroke=alt.value("white"), strokeWidth=alt.value(1))
    ink = alt.condition("datum.share > 0.45", alt.value("white"), alt.value("#1b1b1b"))
    text = (
        alt.Chart(alt.NamedData("leaves"))
        .mark_text(fontSize=11, angle=alt.ExprRef("width < 500 ? 270 : 0"), aria=False)
        .encode(x=_x("board:Q"), y=_y("angle:Q", 0.0), text="leave:N", color=ink)
    )
    return _figure(
        "carry-leaves", "Commonest leave", about, alt.layer(cells, text), {"leaves": leaves}
    )


def corner_map() -> Figure:
    """Shots that leave one corner pin and nothing else."""
    cells, _ = carry_rows()
    about = (
        "Share of first balls that leave the 10 alone or the 7 alone. Near the good zone a corner "
        "pin is the usual price of a good hit."
    )
    words = [_share("ten", "10 alone"), _share("seven", "7 alone"), _share("strike", "strikes")]
    marks, facts = _facts()
    chart = alt.layer(
        _cells("carry", "corner", "7 or 10 alone", FRICTION_SCHEME, words, 0.45), *marks
    )
    return _figure("carry-corners", "Corner pins", about, chart, {"carry": cells, "facts": facts})


def off_spot_map() -> Figure:
    """Shots that leave a pin standing off its spot."""
    cells, _ = carry_rows()
    about = (
        f"Share of first balls after which a pin stands more than {OFF_SPOT_M * 100:.0f} cm from "
        "where it stood (our own line): such pins can stop the machine."
    )
    words = [_share("off", "a pin off its spot"), _share("strike", "strikes")]
    chart = alt.layer(_cells("carry", "off", "off spot", FRICTION_SCHEME, words, 0.1))
    return _figure("carry-off-spot", "Pins off their spot", about, chart, {"carry": cells})


def _figure(key: str, title: str, about: str, chart: Any, data: dict[str, Rows]) -> Figure:
    chart = chart.properties(view=alt.ViewConfig(stroke=INK, strokeOpacity=0.3))
    return Figure(key, title, about, specification(chart, about, width=WIDE, height=HEIGHT), data)


def carry_figures() -> tuple[Figure, ...]:
    """The four maps in reading order."""
    return strike_map(), leave_map(), corner_map(), off_spot_map()
