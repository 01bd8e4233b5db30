"""Twenty invented centers whose truth is hidden from the fit: who bowls there and on what, by seed alone.

Ten are of the world that fits, with every figure off by its stated error; ten are of another one, with
the other load sharing, other pins, other wear and wrong style labels.  Does not fit and does not judge.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain
from typing import Final

import numpy as np
from scipy.special import expit, logit

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.populate import people_of
from leaguesim.bowlers.values import Bowler, RosterLine
from leaguesim.center import demo_center, read
from leaguesim.center.priors import dimensions, other_form, perturbed
from leaguesim.center.values import Center
from leaguesim.lane.values import Condition, Conditioner
from leaguesim.pins import doubt
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play.values import LeagueFormat
from leaguesim.streams import Purpose, stream

SEED: Final = 2_026_112_500
CENTERS: Final = 20
SAME, OTHER = "same", "other"
BOWLERS, TEAM = 20, 5
WEEKS: Final = 14
NOW, NEXT = "now", "next"
UNKNOWN: Final = 0.20  # share of bowlers whose style the roster leaves open
MISLABELLED: Final = 0.25  # share of the others with a wrong style, in the other world
WEAR_LOGIT: Final = (
    0.8  # how far the other world's durability lies off, either way: 0.65 -> 0.45 or 0.81
)
BALLS: Final = 2  # people choose from so many, which halves the time of a line-up


@dataclass(frozen=True)
class Hidden:
    """One center: ``known`` is all that a proprietor has, the rest is the truth behind it."""

    number: int
    world: str
    known: Center
    truth: Center
    people: tuple[Bowler, ...]
    library: CarryLibrary
    seed: int  # of everything about this center


def world_of(number: int) -> str:
    """The first half is of the world that fits."""
    return SAME if number < CENTERS // 2 else OTHER


def _rng(seed: int, what: str) -> np.random.Generator:
    return stream(seed, Purpose.CHECK, identity=f"proof {what}")


@lru_cache(maxsize=1)
def _base() -> Center:
    return read(demo_center())


@lru_cache(maxsize=1)
def _laws() -> doubt.RowLaws:
    return doubt.row_laws(CarryLibrary.load())


def _condition(name: str, like: Condition, oil: str | None, rng: np.random.Generator) -> Condition:
    """A condition like a known one: more or less oil, longer or shorter, perhaps another oil."""
    volume = float(np.exp(0.12 * rng.standard_normal()))
    longer = float(rng.uniform(-2.0, 2.0))
    longest = max(b.to_ft for b in like.bands)
    bands = tuple(
        replace(
            b, volume_ml=b.volume_ml * volume, to_ft=b.to_ft + longer * b.to_ft / longest,
            shares=b.shares if oil is None else ((oil, 1.0),),
        )
        for b in like.bands
    )  # fmt: skip
    return Condition(name, name, bands)


def hidden_center(number: int, seed: int = SEED) -> Hidden:
    """Center ``number``, 0 to 19; the same for ever.

    Parameters
    ----------
    seed : another one gives other centers, for trying things out without looking at these
    """
    seed += number
    base, rng = _base(), _rng(seed, "center")
    now = _condition(NOW, base.conditions["tuesday_40"], None, rng)
    oil = sorted(base.conditioners)[int(rng.integers(len(base.conditioners)))]
    after = _condition(NEXT, base.conditions["thursday_42"], oil, rng)
    lines = people_of(base.populations["league"], base.styles, BOWLERS, seed, team_size=TEAM)
    plain = replace(
        base,
        name=f"Hidden {number + 1}",
        today=NOW,
        conditions={NOW: now, NEXT: after},
        league=LeagueFormat("hidden league", weeks=WEEKS),
        styles={k: replace(s, bag=s.bag[:BALLS]) for k, s in base.styles.items()},
        surfaces={},
        roster=lines,
    )
    world = world_of(number)
    truth = perturbed(plain, rng.random(len(dimensions(plain))))
    library = CarryLibrary.load()
    if world == OTHER:
        truth = other_form(_worn_otherwise(truth, seed))
        levels = doubt.draw_levels(1, _rng(seed, "pins"))[0]
        library = doubt.perturbed(library, levels, _rng(seed, "pins, error"), laws=_laws())
    people = tuple(draw_bowler(r, truth.styles[r.style], truth.balls, seed) for r in lines)
    known = replace(plain, roster=_told(lines, plain, seed, world))
    return Hidden(number, world, known, truth, people, library, seed)


def _worn_otherwise(center: Center, seed: int) -> Center:
    """Every oil of the center lasts longer, or every one shorter, than its figures say."""
    used = set(
        chain.from_iterable(
            (name for name, _ in b.shares) for c in center.conditions.values() for b in c.bands
        )
    )
    way = 1.0 if _rng(seed, "wear").random() < 0.5 else -1.0

    def moved(c: Conditioner) -> Conditioner:
        left = float(expit(logit(min(max(c.left_behind, 0.02), 0.98)) + way * WEAR_LOGIT))
        return replace(c, left_behind=left)

    return replace(
        center,
        conditioners={k: moved(c) if k in used else c for k, c in center.conditioners.items()},
    )


def _told(
    lines: tuple[RosterLine, ...], center: Center, seed: int, world: str
) -> tuple[RosterLine, ...]:
    """The roster as the proprietor has it: some styles open, some wrong in the other world."""
    rng = _rng(seed, "labels")
    styles = sorted(name for name, _ in center.populations["league"].styles)
    out = []
    for line in lines:
        u = rng.random(3)
        style = line.style
        if u[0] < UNKNOWN:
            style = "unknown"
        elif world == OTHER and u[1] < MISLABELLED:
            others = [s for s in styles if s != line.style]
            style = others[int(u[2] * len(others))]
        out.append(replace(line, style=style))
    return tuple(out)
