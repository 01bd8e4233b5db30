"""The page of one condition: film, friction, ratios and where each style's balls go.

Does not compute any of it; it arranges what ``study.look`` returned.
"""

from collections.abc import Hashable
from typing import TYPE_CHECKING, Any

from leaguesim import __version__
from leaguesim.report import lanefans, lanemaps
from leaguesim.report.document import (
    contents,
    document,
    glossary,
    manifest_block,
    picker,
    section,
)
from leaguesim.report.figures import Drawn, draw, gallery, unchecked, warm_up
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.people import look_for_people
from leaguesim.report.texts import CAUTIONS, number, ratio_headline, signed
from leaguesim.report.theme import group_looks
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.report.turning import forgiving, lane_turns

if TYPE_CHECKING:
    from leaguesim.study.results import LaneLook, LaneResult

SECTIONS = {
    "maps": "Film and friction",
    "fans": "Where each style's balls go",
    "wear": "What a night does to the film",
    "grip": "The conditioners side by side",
    "carry": "What the pins do with a ball",
    "method": "How this was worked out",
    "unknown": "What the model does not know",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}
METHOD = (
    "The condition's bands of oil make a film of one cell a board and foot; film, conditioner, surface "
    "and ball make friction, which hangs on how fast the ball slides too.",
    "Each style's usual ball and release is rolled over it by the equations of a sliding ball. The line "
    "shown is the one on which that style scores most; misses start from it with the feet unmoved.",
    "Wear is the mean of simulated nights of a small crew with this roster's styles. What pins do is "
    "read from a library of rigid-body collisions.",
)


def lane_page(result: "LaneResult") -> str:
    """One offline HTML file about one condition.

    Parameters
    ----------
    result : what ``study.look`` returned
    """
    from leaguesim.report import gripcharts
    from leaguesim.report.carrymaps import INTRODUCTION, carry_figures

    look = look_for_people(result.look)
    warm_up()
    maps, fans, worn = lane_drawn(look)
    with unchecked():
        carry = draw(carry_figures())
        grip = draw(gripcharts.grip_figures(result))
    about_grip = tag("p", gripcharts.INTRODUCTION)
    there = {"grip": bool(grip), "wear": bool(worn)}
    main = join(
        [
            _answer(result),
            contents({k: v for k, v in SECTIONS.items() if there.get(k, True)}),
            picker(group_looks(look.arrivals["style"])),
            section("maps", SECTIONS["maps"], gallery(maps), ratio_table(look)),
            section("fans", SECTIONS["fans"], gallery(fans), arrivals_table(look)),
            section("wear", SECTIONS["wear"], gallery(worn)) if worn else None,
            section("grip", SECTIONS["grip"], about_grip, gallery(grip)) if grip else None,
            section("carry", SECTIONS["carry"], tag("p", INTRODUCTION), gallery(carry)),
            section("method", SECTIONS["method"], paragraphs(METHOD)),
            section("unknown", SECTIONS["unknown"], bullets(result.notes)),
            section("turn", TURN_TITLE, bullets(lane_turns())),
            section("cautions", SECTIONS["cautions"], bullets(CAUTIONS)),
            section("glossary", SECTIONS["glossary"], glossary()),
            section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
        ]
    )
    name = look.title or look.condition
    return document(
        title=f"{result.center}: {name}",
        header=tag("h1", f"{result.center}: a look at “{name}”"),
        main=main,
        figures=[d.figure for d in (*maps, *fans, *worn, *grip, *carry)],
        version=__version__,
    )


def lane_drawn(look: "LaneLook") -> tuple[list[Drawn], list[Drawn], list[Drawn]]:
    """Maps of film and friction; fans of each style and miss room; wear after each game."""
    looks = group_looks(look.arrivals["style"])
    cells, paths = lanemaps.lane_cells(look), lanemaps.lane_paths(look)
    grip = lanemaps.top_of([look], "friction")
    with unchecked():
        maps = (
            lanemaps.film_map(look, "", looks, cells, paths),
            lanemaps.friction_map(look, "", looks, cells, paths, grip),
        )
        fans = lanefans.fan_figures({"": paths}, looks, length_ft=look.length_ft)
        room = lanefans.miss_figure({"": look})
        return draw(maps), draw([*fans, room]), draw(lanefans.worn_figures(look))


def headline(look: "LaneLook") -> str:
    """What the condition is, in a sentence."""
    return (
        f"{look.title or look.condition}: {number(look.volume_ml)} mL of conditioner over "
        f"{number(look.length_ft, 0)} ft."
    )


def _answer(result: "LaneResult") -> Markup:
    note = (
        "This center is invented: its lanes, conditioners and bowlers only show what is possible."
    )
    return tag(
        "section",
        tag("p", note, class_="invented") if result.invented else None,
        tag("p", headline(result.look), class_="headline"),
        tag("p", forgiving(look_for_people(result.look)), class_="verdict"),
        paragraphs([ratio_headline(result.look), result.look.designation]),
        class_="answer",
        aria_label="The answer",
    )


def ratio_table(look: "LaneLook", when: str = "") -> Markup:
    """Crosswise ratios at several distances, each side alone; ``when`` goes into the caption."""
    rows = [
        [f"{number(r['distance_ft'], 0)} ft", _ratio(r["right"]), _ratio(r["left"])]
        for r in look.ratios
    ]
    caption = "Crosswise ratio: film on boards 18 to 22 over film on boards 3 to 7 of a side"
    return table(_caption(caption, when), ["distance", "right side", "left side"], rows)


def _caption(words: str, when: str) -> str:
    return f"{when.capitalize()}: {words[0].lower()}{words[1:]}" if when else words


def _ratio(value: float | None) -> str:
    return "outside dry" if value is None else f"{number(value, 2)} : 1"


def _breakpoint(row: dict[Hashable, Any]) -> tuple[str, str]:
    """Board and distance where the path is outermost; none where a ball never turns back."""
    if row["breakpoint_ft"] <= 0.0:
        return "none", "none"
    return number(row["breakpoint_board"]), number(row["breakpoint_ft"], 0)


def arrivals_table(look: "LaneLook", when: str = "") -> Markup:
    """Line, breakpoint, roll start, arrival and miss room of each style and hand."""
    head = [
        "style", "hand", "ball", "line, board", "arrows, board", "breakpoint, board",
        "breakpoint, ft", "roll start, ft", "entry angle, degrees", "speed at the pins, mph",
        "offset, boards", "miss room outside, boards", "miss room inside, boards",
    ]  # fmt: skip
    rows = [
        [
            r["style"], r["hand"], r["ball"].replace("_", " "), number(r["line_board"]), number(r["arrow_board"]),
            *_breakpoint(r),
            "never" if r["roll_start_ft"] > 60.0 else number(r["roll_start_ft"], 0),
            number(r["entry_angle"]), number(r["speed_mph"]), number(r["offset_board"]),
            signed(r["outside_miss_board"]), signed(r["inside_miss_board"]),
        ]
        for r in look.arrivals.to_dict("records")
    ]  # fmt: skip
    caption = (
        "Lines and arrivals by style; boards from the bowler's own edge; miss room: boards from "
        "the line's end at which a ball a board wide at the arrows ends, feet unmoved"
    )
    data = [{"style": row[0]} for row in rows]
    return table(_caption(caption, when), head, rows, numeric_from=3, row_data=data)
