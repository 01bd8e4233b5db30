"""A center small enough for tests: two pairs of lanes, eight bowlers, conditions made here.

Balls, conditioners and styles are those of the shipped demo center; everything is invented.
"""

from dataclasses import replace
from functools import lru_cache
from hashlib import sha256
from typing import Any

from leaguesim.bowlers.values import RosterLine
from leaguesim.center import demo_center, read
from leaguesim.center.values import Center
from leaguesim.lane.values import Band, Condition, EarlierPlay, Surface
from leaguesim.play.values import LeagueFormat
from leaguesim.study import paired

AMBER = (("amber", 1.0),)
SLATE = (("slate", 1.0),)
MIXED = (("amber", 0.25), ("slate", 0.75))

HOUSE = (
    Band(0, 36, 2, 38, 5.0, AMBER),
    Band(0, 40, 8, 32, 9.0, AMBER),
    Band(0, 24, 11, 29, 7.0, AMBER),
    Band(0, 9, 14, 26, 4.0, AMBER),
)
FLAT = (
    Band(0, 41, 2, 38, 15.0, SLATE),
    Band(0, 30, 6, 34, 8.0, SLATE),
    Band(0, 8, 12, 28, 4, SLATE),
)
SKEW = (
    Band(0, 36, 2, 38, 6.0, AMBER),
    Band(0, 40, 9, 33, 8.0, MIXED),
    Band(0, 27.5, 10, 25, 7.0, SLATE),
    Band(4, 18, 20, 31, 3.0, AMBER),
)
EARLIER = EarlierPlay(6, (("stroker", 0.5), ("tweener", 0.5)))


def mirrored_bands(bands: tuple[Band, ...]) -> tuple[Band, ...]:
    """The same oil seen from the other side."""
    return tuple(replace(b, from_board=40 - b.to_board, to_board=40 - b.from_board) for b in bands)


CONDITIONS = {
    "house": HOUSE,
    "copy": HOUSE,
    "flat": FLAT,
    "skew": SKEW,
}

PEOPLE = (
    ("Ann", "A1", "right", "stroker"),
    ("Bea", "A1", "left", "tweener"),
    ("Cid", "A2", "right", "power"),
    ("Dot", "A2", "right", "straight"),
    ("Eli", "B1", "left", "stroker"),
    ("Fay", "B1", "right", "tweener"),
    ("Gus", "B2", "left", "power"),
    ("Hal", "B2", "right", "stroker"),
)


def roster(averages: dict[str, float] | None = None) -> tuple[RosterLine, ...]:
    """Eight bowlers, all traits but speed and revs of one of them drawn from their styles."""
    known = averages or {}
    lines = [RosterLine(n, t, h, s, average=known.get(n)) for n, t, h, s in PEOPLE]
    lines[0] = replace(lines[0], speed_mph=16.5, rev_rate_rpm=260.0)
    return tuple(lines)


@lru_cache(maxsize=1)
def center() -> Center:
    """The small center; people look at two balls at most, which halves the time of a line-up."""
    demo = read(demo_center())
    conditions = {k: Condition(k, k.title(), bands) for k, bands in CONDITIONS.items()}
    conditions["worn"] = Condition("worn", "Worn", HOUSE, after=EARLIER)
    conditions["worn_skew"] = Condition("worn_skew", "Worn skew", SKEW, after=EARLIER)
    return replace(
        demo,
        name="Small Hall",
        lanes=4,
        surface=Surface("synthetic", 15.0, 0.0),
        league=LeagueFormat("small league", games=3, practice_balls=4),
        today="house",
        conditions=conditions,
        styles={k: replace(s, bag=s.bag[:2]) for k, s in demo.styles.items()},
        roster=roster(),
    )


def mirrored(of: Center) -> Center:
    """The same center in a mirror: hands, conditions and tilt change sides."""
    other = {"left": "right", "right": "left"}
    return replace(
        of,
        surface=replace(of.surface, tilt_in=-of.surface.tilt_in),
        conditions={k: replace(c, bands=mirrored_bands(c.bands)) for k, c in of.conditions.items()},
        styles={
            k: replace(s, left_handed_share=1.0 - s.left_handed_share) for k, s in of.styles.items()
        },
        roster=tuple(replace(r, hand=other[r.hand]) for r in of.roster),
    )


def compare(of: Center, now: str, after: str, **options: Any) -> Any:
    """``study.compare`` of few nights without the lane looks, which cost most of its time."""
    options = {"seed": 11, "nights": 32, "workers": 1, **options}
    kept = paired.look_at
    paired.look_at = lambda *_: None  # type: ignore[assignment]
    try:
        return paired.compare(of, now=now, next=after, **options)
    finally:
        paired.look_at = kept


def digest(result: Any) -> str:
    """SHA-256 over every table and figure of a result, to the last bit."""
    h = sha256()
    tables = [result.bowlers, result.scores, *(result.groups[k] for k in sorted(result.groups))]
    for table in tables:
        h.update(table.to_csv(index=False, float_format=None).encode())
    h.update(result.to_json().encode())
    h.update(repr(result.stability).encode())
    return h.hexdigest()
