"""How results move over side rotation, the least known of the inputs, as rows of the validation table.

The middle bowlers of three hook styles are given one rotation after the other, everything else and their
luck kept; each has a pair of lanes alone.  Fits nothing.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.draw import middle_bowler
from leaguesim.bowlers.lineup import Line
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.arrays import kernel_film
from leaguesim.outside import bowlers_checks as people_of
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.direction_checks import above, told
from leaguesim.outside.direction_physics import slip_mps
from leaguesim.outside.figures import figures
from leaguesim.outside.league_play import LEAGUE, with_oil
from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pair, Start, make_setting, play_block
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose
from leaguesim.units import LANE_LENGTH_FT

Array = NDArray[np.float64]

BLOCKS: Final = 3
LEAST, MIDDLE = 10.0, 50.0  # rotations whose averages are compared


class Sweep(NamedTuple):
    """By style and rotation: lines, nights' mean games (styles, rotations, nights), strikes a rack.

    ``tally``: racks and strikes of each night, (2, styles, rotations, nights).
    """

    lines: list[list[Line]]
    games: Array
    strikes: Array
    tally: Array


def rotation_checks() -> list[Check]:
    """Slip, roll start, entry angle, average, strikes, and whether a comparison's answer moves."""
    d = figures("directions")
    row = d["rotation"]
    return [
        _range_row(row),
        *_slip_rows(row),
        *_path_rows(row),
        *_score_rows(row),
        _answer_row(row),
    ]


def people(style: str, degrees: Sequence[float]) -> list[Bowler]:
    """The middle bowler of a style with each rotation, each a team alone."""
    center = people_of._center()
    middle = middle_bowler(center.styles[style], "right", center.balls)
    return [
        replace(middle, bowler=f"{style} {x:g}", team=f"{style} {x:g}", axis_rotation_deg=x)
        for x in degrees
    ]


@cache
def sweep(oil: str | None, styles: tuple[str, ...], degrees: tuple[float, ...]) -> Sweep:
    """Every style with every rotation on the house pattern, or on it laid in another conditioner."""
    lane = people_of._house() if oil is None else with_oil(oil)
    film, mix = kernel_film(lane)
    lines, games, tally = [], [], []
    for style in styles:
        who = people(style, degrees)
        alone = [Pair((b,), (0,)) for b in who]
        setting = make_setting("check", lane, Start(film[None], mix), alone, people_of._pins())
        luck = np.concatenate(
            [
                night_draws(people_of.SEED, style, block=k, games=LEAGUE.games, purpose=Purpose.CHECK)
                for k in range(BLOCKS)
            ]
        )[:, None]  # fmt: skip
        lines.append([setting.stances[b.bowler].line for b in who])
        for crew in setting.crews:
            got = play_block(
                setting.films, setting.mix, setting.pulls, crew, people_of._pins(), luck,
                LEAGUE.games, LEAGUE.practice_balls,
            )  # fmt: skip
            games.append(got.exact[:, 0].mean(axis=1))
            tally.append(got.counts[:, 0][:, [_kernel.RACKS, _kernel.STRIKES]].T)
    shape = (len(styles), len(degrees), BLOCKS * NIGHTS_PER_STREAM)
    racks, made = np.array(tally, np.float64).transpose(1, 0, 2).reshape(2, *shape)
    strikes = made.sum(axis=2) / racks.sum(axis=2)
    return Sweep(lines, np.array(games).reshape(shape), strikes, np.stack([racks, made]))


def shipped_sweep() -> Sweep:
    """The sweep on the house pattern, for other rows about the same people."""
    return _swept(figures("directions")["rotation"])


def _swept(row: dict[str, Any], oil: str | None = None) -> Sweep:
    return sweep(oil, tuple(row["styles"]), tuple(row["degrees"]))


def _place(row: dict[str, Any], degrees: float) -> int:
    return int(row["degrees"].index(degrees))


def _over(row: dict[str, Any], values: Array, form: str) -> str:
    """A value at every rotation."""
    at = ", ".join(f"{x:g}" for x in row["degrees"])
    return ", ".join(f"{v:{form}}" for v in values) + f" at {at} deg"


def _range_row(row: dict[str, Any]) -> Check:
    styles = people_of._center().styles
    spans = {s: styles[s].axis_rotation_deg for s in row["styles"]}
    low, high = row["assumed"]
    words = "; ".join(
        f"{s} {x.mean:g} +/- {x.sd:g} within {x.low:g} to {x.high:g}" for s, x in spans.items()
    )
    return Check(
        "rotation: what the hook styles are drawn from",
        row["source"],
        f"each reaches from {low:g} to {high:g} deg",
        words,
        verdict(all(x.low <= low and x.high >= high for x in spans.values())),
    )


def _slip_rows(row: dict[str, Any]) -> list[Check]:
    center = people_of._center()
    ball = center.balls["medium"]

    def slips(style: str, degrees: Sequence[float]) -> Array:
        s = center.styles[style]
        return np.array([slip_mps(s.speed_mph.mean, s.rev_rate_rpm.mean, x, ball) for x in degrees])

    mean = np.mean([slips(s, row["degrees"]) for s in row["styles"]], axis=0)
    power = slips("power", row["degrees"])
    straight = float(slips("straight", [center.styles["straight"].axis_rotation_deg.mean])[0])
    low, high = (power[_place(row, x)] for x in row["assumed"])
    faster = [x for x, p in zip(row["degrees"], power, strict=True) if p > straight]
    return [
        Check(
            "rotation: slip at release, mean of stroker, tweener and power, m/s",
            row["later"]["source"],
            "rises with rotation",
            _over(row, mean, ".1f"),
            verdict(bool((np.diff(mean) > 0.0).all())),
        ),
        Check(
            "rotation: who slips faster at release, power or straight, hangs on rotation",
            figures("directions")["slip"]["source"],
            f"straight at {row['assumed'][0]:g} deg of power's rotation, power at "
            f"{row['assumed'][1]:g}",
            f"straight {straight:.1f}, power {low:.1f} to {high:.1f} m/s; power faster from "
            + (f"{faster[0]:g} deg" if faster else "nowhere"),
            verdict(low < straight < high),
        ),
    ]


def _path_rows(row: dict[str, Any]) -> list[Check]:
    lines = _swept(row).lines
    roll = np.array([[min(x.roll_start_ft, LANE_LENGTH_FT) for x in own] for own in lines]).mean(
        axis=0
    )
    entry = np.array([[x.entry_deg for x in own] for own in lines]).mean(axis=0)
    first, last = (_place(row, x) for x in row["assumed"])
    robot = row["entry"]
    reached = [
        x for x, e in zip(row["degrees"], entry, strict=True)
        if robot["low_deg"] <= e <= robot["high_deg"]
    ]  # fmt: skip
    return [
        Check(
            "rotation: where the ball rolls on the best line, house pattern, ft",
            row["later"]["source"],
            f"later at {row['assumed'][1]:g} than at {row['assumed'][0]:g} deg",
            _over(row, roll, ".1f"),
            verdict(float(roll[last]) > float(roll[first])),
        ),
        Check(
            "rotation: entry angle on the best line, house pattern, deg",
            robot["source"],
            f"{robot['low_deg']:g} to {robot['high_deg']:g} for some of the assumed range, below at "
            f"{LEAST:g} deg",
            _over(row, entry, ".1f"),
            verdict(
                any(row["assumed"][0] <= x <= row["assumed"][1] for x in reached)
                and entry[_place(row, LEAST)] < robot["low_deg"]
            ),
        ),
    ]


def _score_rows(row: dict[str, Any]) -> list[Check]:
    found = _swept(row)
    low, middle = (_place(row, x) for x in (LEAST, MIDDLE))
    gain = (found.games[:, middle] - found.games[:, low]).mean(axis=0)
    mean, se = float(gain.mean()), float(gain.std(ddof=1) / np.sqrt(gain.size))
    strikes = found.strikes.mean(axis=0)
    expected = f"more at {MIDDLE:g} than at {LEAST:g} deg"
    return [
        Check(
            "rotation: average of stroker, tweener and power, house pattern",
            row["carry"]["source"],
            expected,
            f"{_over(row, found.games.mean(axis=(0, 2)), '.0f')}; {told(mean, se, 'pins')}",
            verdict(above(mean, se)),
        ),
        Check(
            "rotation: strikes of fresh racks, house pattern",
            row["carry"]["source"],
            expected,
            _over(row, strikes, ".2f"),
            verdict(float(strikes[middle]) > float(strikes[low])),
        ),
    ]


def _answer_row(row: dict[str, Any]) -> Check:
    oil = figures("directions")["earlier"]["conditioner"]
    gain = (_swept(row, oil).games - _swept(row).games).mean(axis=0)
    mean = gain.mean(axis=1)
    se = float((gain.std(axis=1, ddof=1) / np.sqrt(gain.shape[1])).max())
    first, last = (_place(row, x) for x in row["assumed"])
    part = mean[first : last + 1]
    within = row["answer"]["within_pins"]
    return Check(
        f"rotation: change of the average when amber gives way to {oil}, house pattern",
        row["answer"]["source"],
        f"within {within:g} pins over {row['assumed'][0]:g} to {row['assumed'][1]:g} deg",
        f"{_over(row, mean, '+.1f')} (se at most {se:.1f})",
        verdict(float(part.max() - part.min()) <= within),
    )
