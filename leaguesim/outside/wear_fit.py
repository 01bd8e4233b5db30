"""How much a passing ball takes, against published wear: the share in force beside the one that would fit.

The share left behind of the default conditioner, against the oil lost on one track and in the heads.
Does not change a constant: what a ball takes in force is reasoned (``play.crew``), not fitted.
"""

from dataclasses import replace
from typing import Any, Final, NamedTuple

import numpy as np

from leaguesim.ball.values import Ball
from leaguesim.lane._kernel import wear_track
from leaguesim.lane.film import ROWS
from leaguesim.lane.lane import Lane
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import Conditioner
from leaguesim.outside import bowlers_checks as crew
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figures
from leaguesim.play.crew import STRIP, wear_shares
from leaguesim.units import BOARDS, CELLS_FT, CENTRE_BOARD, UNIT_M, UNIT_ML_PER_CELL

STEPS: Final = 7  # bisections: to 0.01
DIGITS: Final = 2
WETTED: Final = 1.26  # of the strip in ``play.crew``: wetted width over that of the dry contact
DOUBTS: Final = (
    "the strip in force is reasoned, not solved for: the dry contact widened to where the gap beside it is as wide as "
    "a film of some 25 units, and films part half and half. The track's loss was known when it was chosen and rises "
    "with it, so its row counts as fitted; that films part half and half goes in and comes out again",
    "three facts contradict: with it the track loses 46 % (published: over 40), 64 % of the heads are left "
    "(about half), and a ball carries off 1.4 to 1.7 times what was computed for its dry contact; the track "
    "and the heads were observed, the oil carried off was not, so it is the one given up",
    "one strip for all films: wetted width grows from 1.15 radii at 10 units to 1.58 at 80",
    "the track is from a trade article that gives neither film nor shots; games are taken a lane",
)


class Wear(NamedTuple):
    """Share lost on the most used board of one bowler's track; share of the heads left."""

    track_lost: float
    heads_left: float


def wear_at(left_behind: float) -> Wear:
    """Wear of the check's sport film by the check's people, with one share left behind."""
    sport = crew._sport()
    oils = tuple(replace(m, left_behind=left_behind) for m in sport.mixtures)
    lane = replace(sport, mixtures=oils, _tables=sport._tables)
    return Wear(_track(lane), _heads(lane))


def _track(lane: Lane) -> float:
    games = int(figures("bowlers")["wear"]["track"]["games"])
    still = crew._person("tweener", 50, "one", move_gain=0.0)
    before, after = crew._worn([still], 2 * games, lane)
    oil, left = before[crew.TRACK_ROWS], after[crew.TRACK_ROWS]
    lost = np.where(oil > 0.0, 1.0 - left / np.maximum(oil, 1e-9), 0.0)
    return float(lost.max(axis=1).mean())


def _heads(lane: Lane) -> float:
    games = int(figures("bowlers")["wear"]["heads"]["games"])
    four = [crew._person(s, 60 + k, "four") for k, s in enumerate(("stroker", "tweener") * 2)]
    before, after = crew._worn(four, games // 2, lane)
    middle = slice(14, 25)
    return float(after[crew.HEAD_ROWS, middle].sum() / before[crew.HEAD_ROWS, middle].sum())


def wear_fit() -> dict[str, Any]:
    """The share left behind at which the track loses what is published, and wear with it and in force."""
    goal = float(figures("bowlers")["wear"]["track"]["lost_share"])
    low, high = 0.0, 0.8
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if wear_at(middle).track_lost > goal else (low, middle)
    fitted = round(low, DIGITS)
    own = Conditioner("default").left_behind
    return {
        "left_behind": fitted,
        "left_behind_in_force": own,
        "at_fit": _rounded(wear_at(fitted)),
        "in_force": _rounded(wear_at(own)),
    }


def _rounded(wear: Wear) -> dict[str, float]:
    return {name: round(value, 3) for name, value in wear._asdict().items()}


def carried_off_ul(film_units: float, length_ft: float) -> float:
    """Oil that one ball takes off the lane over an even film, by the wear kernel. [uL]

    The default conditioner and ball, down board 20.
    """
    film = np.zeros((ROWS, BOARDS + 2))
    film[: round(length_ft)] = film_units * UNIT_M
    mix = np.zeros(film.shape, np.int8)
    take, kept, lay = wear_shares(Ball(), (mixture_of(Conditioner("default")),))
    ledger = np.zeros(2)
    wear_track(film, mix, np.full(ROWS + 1, CENTRE_BOARD), CELLS_FT, 0, 1, take, kept, lay, ledger)
    return float(ledger.sum() / UNIT_M * UNIT_ML_PER_CELL * 1e3)


def transport_checks() -> list[Check]:
    """Rows on what one passing ball does to the film; the margins are ours."""
    data = figures("lane")
    split, off = data["film_split"], data["carried_off"]
    own = 1.0 - STRIP / WETTED * (1.0 - Conditioner("default").left_behind)
    got = [carried_off_ul(units, off["length_ft"]) for units in off["film_units"]]
    worst = max(abs(g / e - 1.0) for g, e in zip(got, off["ul"], strict=True))
    return [
        Check(
            "wear: share of the film under a ball that the default conditioner leaves, at equal speeds",
            split["source"],
            f"{split['left_at_equal_speeds']:g} (within {split['within']:g})",
            f"{own:.2f}",
            verdict(abs(own - split["left_at_equal_speeds"]) <= split["within"]),
            "fit",
        ),
        Check(
            f"wear: oil one ball carries off {off['length_ft']:g} ft of even film, "
            f"{', '.join(f'{u:g}' for u in off['film_units'])} units",
            off["source"],
            f"{', '.join(f'{v:g}' for v in off['ul'])} uL (within {off['within_share']:.0%})",
            f"{', '.join(f'{g:.0f}' for g in got)} uL",
            verdict(worst <= off["within_share"]),
        ),
    ]
