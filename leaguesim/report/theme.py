"""Colours, shapes and the look of every chart: safe for colour-blind eyes, on paper and in the dark.

Does not draw.  Groups take the Okabe-Ito colours with a shape of their own, film and
friction take viridis and cividis, changes take a diverging map centred on zero.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

# M. Okabe and K. Ito, "Color Universal Design" (2008), without yellow, which has no contrast on white,
# and with grey for black, which has none in the dark; a violet stands for the second blue and a brown
# is added.  Shapes tell groups apart where colours are not seen.
OKABE_ITO = (
    "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#8C6BD1", "#E69F00", "#7F7F7F", "#8B4A2B",
)  # fmt: skip
SHAPES = (
    "circle", "square", "triangle-up", "diamond", "cross", "triangle-down", "triangle-right",
    "triangle-left",
)  # fmt: skip

NOW_COLOUR = "#7F7F7F"
NEXT_COLOUR = "#0072B2"
KEPT_COLOURS = {
    "kept": "#009E73",
    "lost": "#D55E00",
    "won back": "#56B4E9",
    "not happy in either": "#7F7F7F",
    "can't be told": "#CFCFCF",
}
FILM_SCHEME: Final = "viridis"
FRICTION_SCHEME: Final = "cividis"
CHANGE_SCHEME: Final = "purpleorange"
ALL = "all"
INK = "currentColor"  # text and axes follow the page, light or dark


@dataclass(frozen=True)
class GroupLook:
    """How one group is told from the others on every chart of a page."""

    name: str
    colour: str
    shape: str


def group_looks(names: Iterable[str]) -> list[GroupLook]:
    """A look for each group in the order given; beyond eight the shapes shift against the colours."""
    looks = []
    for k, name in enumerate(dict.fromkeys(names)):
        turn, place = divmod(k, len(OKABE_ITO))
        shift = (place + turn) % len(SHAPES)
        looks.append(GroupLook(name, OKABE_ITO[place], SHAPES[shift]))
    return looks


def scale(looks: Sequence[GroupLook], what: str) -> dict[str, Any]:
    """Domain and range of a scale over groups; ``what`` is colour or shape."""
    return {"domain": [g.name for g in looks], "range": [getattr(g, what) for g in looks]}


def config() -> dict[str, Any]:
    """The chart configuration: no background, ink that follows the page, quiet grid."""
    font = "system-ui, 'DejaVu Sans', sans-serif"
    words = {"labelColor": INK, "titleColor": INK, "labelFont": font, "titleFont": font}
    return {
        "background": None,
        "font": font,
        "axis": {
            **words,
            "labelFontSize": 12,
            "titleFontSize": 12,
            "titleFontWeight": "normal",
            "domainColor": INK,
            "tickColor": INK,
            "gridColor": INK,
            "gridOpacity": 0.13,
            "domainOpacity": 0.5,
            "tickOpacity": 0.5,
            "labelLimit": 150,
        },
        "axisQuantitative": {"labelOverlap": "greedy", "labelSeparation": 4},
        "legend": {
            **words,
            "labelFontSize": 12,
            "titleFontSize": 12,
            "titleFontWeight": "normal",
            "orient": "top",
            "direction": "horizontal",
            "columns": 4,
            "labelLimit": 160,
            "symbolStrokeWidth": 2,
        },
        "title": {"color": INK, "font": font, "fontSize": 13, "anchor": "start"},
        "text": {"color": INK, "font": font, "fontSize": 12},
        "rule": {"color": INK},
        "view": {"stroke": None},
    }
