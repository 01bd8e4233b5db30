"""Wear and scores against their outside figures: league bowlers of the demo styles, nothing fitted.

Plays a few hundred nights on two patterns of the governing body's test pair.  Does not tie anybody to
an average.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.lineup import find_line, floor_of
from leaguesim.bowlers.values import Bowler, RosterLine
from leaguesim.center import demo_center, read
from leaguesim.center.values import Center
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Surface
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figures
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pins, Setting, Start, make_setting, pairs_of, pins_of, play_block
from leaguesim.streams import Purpose

Array = NDArray[np.float64]

SEED = 20100
NIGHTS = 96
GAMES = 3
LENGTH_FT = 40.0
HOUSE = "tuesday_40"
SPORT = 2.0  # crosswise ratio of the test pair's sport pattern
EACH = 5  # league bowlers of each style
EXPERT_DEG = 0.165  # a range of two boards over ten shots (220+, US Bowler, July 2012), a quarter on the feet
EXPERT_LAYDOWN = 0.33
TRACK_ROWS = slice(12, 32)
HEAD_ROWS = slice(2, 12)


def bowlers_checks() -> list[Check]:
    """All rows: wear of lanes, then scores."""
    data = figures("bowlers")
    return [*_wear_checks(data["wear"]), *_score_checks(data["scores"])]


@cache
def _center() -> Center:
    return read(demo_center())


@cache
def _pins() -> Pins:
    return pins_of(CarryLibrary.load())


def _house(temperature_c: float = 21.1) -> Lane:
    """The demo's house pattern: 40 ft, 8:1 by the same definition, tapered as machines lay it."""
    return Lane.from_condition(
        _center().conditions[HOUSE],
        _center().conditioners,
        surface=Surface(),
        temperature_c=temperature_c,
    )


@cache
def _sport() -> Lane:
    """The house pattern spread across the lane until it is 2:1 at 20 ft.

    Same length, volume, conditioner and taper down the lane, and no step across it: two levels of oil side
    by side would be a wall to play against, which flat patterns do not have.
    """
    house = _center().conditions[HOUSE]

    def spread(share: float) -> Lane:
        bands = [replace(b, volume_ml=b.volume_ml * (1.0 - share)) for b in house.bands]
        bands += [
            replace(b, from_board=1, to_board=39, volume_ml=b.volume_ml * share)
            for b in house.bands
        ]
        return Lane.from_condition(
            replace(house, bands=tuple(bands)),
            _center().conditioners,
            surface=Surface(),
            temperature_c=21.1,
        )

    low, high = 0.0, 1.0
    for _ in range(40):
        share = 0.5 * (low + high)
        steep = (spread(share).crosswise_ratio(20.0)[1] or np.inf) > SPORT
        low, high = (share, high) if steep else (low, share)
    return spread(high)


def _person(style: str, k: int, team: str, **changes: Any) -> Bowler:
    c = _center()
    line = RosterLine(f"check {style} {k}", team, "right", style)
    return replace(draw_bowler(line, c.styles[style], c.balls, SEED), **changes)


def _setting(people: Sequence[Bowler], lane: Lane) -> Setting:
    film, mix = kernel_film(lane)
    return make_setting("check", lane, Start(film[None], mix), pairs_of(people), _pins())


class _Played(NamedTuple):
    """(bowlers,) averages and strike rates, (bowlers, nights, games) sampled scores."""

    average: Array
    strikes: Array
    scores: NDArray[np.int64]


def _play(people: Sequence[Bowler], lane: Lane) -> _Played:
    """Nights of everybody on a lane, in the order of ``people``."""
    setting, pairs = _setting(people, lane), pairs_of(people)
    found: dict[str, tuple[float, float, NDArray[np.int64]]] = {}
    for pair, crew in zip(pairs, setting.crews, strict=True):
        blocks = []
        for block in range(NIGHTS // 32):
            draws = np.stack(
                [
                    night_draws(SEED, b.bowler, block=block, games=GAMES, purpose=Purpose.CHECK)
                    for b in pair.bowlers
                ],
                axis=1,
            )
            blocks.append(
                play_block(
                    setting.films, setting.mix, setting.pulls, crew, _pins(), draws, GAMES, 4
                )
            )
        for i, b in enumerate(pair.bowlers):
            counts = sum(block.counts[:, i].sum(axis=0) for block in blocks)
            mean = float(np.mean([block.exact[:, i].mean() for block in blocks]))
            rate = counts[_kernel.STRIKES] / counts[_kernel.RACKS]
            scores = np.concatenate([block.sampled[:, i] for block in blocks])
            found[b.bowler] = (mean, float(rate), scores)
    rows = [found[b.bowler] for b in people]
    return _Played(
        np.array([r[0] for r in rows]),
        np.array([r[1] for r in rows]),
        np.stack([r[2] for r in rows]),
    )


def _league() -> list[Bowler]:
    styles = ("straight", "stroker", "tweener", "power", "senior", "youth", "casual", "two_handed")
    return [_person(s, k, f"{s} {k // 4}") for s in styles for k in range(EACH)]


def _experts() -> list[Bowler]:
    """Their speed, revs and rotation are as much steadier than their style's as their launch is (assumed)."""
    people = []
    for s in ("tweener", "power"):
        middle = _center().styles[s]
        share = EXPERT_DEG / middle.accuracy_deg.mean
        for k in range(4):
            people.append(
                _person(
                    s, 100 + k, f"expert {s}", accuracy_deg=EXPERT_DEG,
                    laydown_sd_board=EXPERT_LAYDOWN, speed_sd_mph=share * middle.speed_sd_mph,
                    rev_sd_rpm=share * middle.rev_sd_rpm,
                    rotation_sd_deg=share * middle.rotation_sd_deg,
                )
            )  # fmt: skip
    return people


def _at(x: Array, y: Array, where: float) -> float:
    """A straight line through (x, y), read at ``where``."""
    slope, base = np.polyfit(x, y, 1)
    return float(base + slope * where)


def _score_checks(data: dict[str, Any]) -> list[Check]:
    league, experts = _league(), _experts()
    house, sport = _house(), _sport()
    easy, hard = _play(league, house), _play(league, sport)
    gain = _play(experts, house).average - _play(experts, sport).average
    row = data["sport_to_house"]
    checks = []
    for low, high in zip(row["sport"], row["house"], strict=True):
        got = _at(hard.average, easy.average, low)
        checks.append(
            Check(
                f"scores: house average of a {low:g} on sport, a line through 40 bowlers",
                row["source"],
                f"{high:g} (within {row['within']:g})",
                f"{got:.1f}",
                verdict(abs(got - high) <= row["within"]),
            )
        )
    row = data["experts"]
    checks.append(
        Check(
            "scores: experts, house 8:1 against sport 2:1, mean of 8",
            row["source"],
            f"{row['low']:g} to {row['high']:g} pins",
            f"{gain.mean():.1f} pins ({gain.min():.1f} to {gain.max():.1f})",
            verdict(row["low"] <= gain.mean() <= row["high"]),
        )
    )
    row = data["strikes"]
    rate = _at(easy.average, easy.strikes, row["average"])
    checks.append(
        Check(
            "scores: strikes of fresh racks at a 177 average, a line through 40 bowlers",
            row["source"],
            f"{row['rate']:g} (within {row['within']:g})",
            f"{rate:.3f}",
            verdict(abs(rate - row["rate"]) <= row["within"]),
        )
    )
    return [*checks, *_spread_checks(data, easy), *_choice_checks(data, league, house, easy, hard)]


def _spread_checks(data: dict[str, Any], easy: _Played) -> list[Check]:
    """Spread of games by average, and of days."""
    row = data["game_sd"]
    sd = easy.scores.reshape(easy.scores.shape[0], -1).std(axis=1)
    checks = []
    for average, low, high in zip(row["average"], row["low"], row["high"], strict=True):
        near = np.argsort(np.abs(easy.average - average), kind="stable")[:6]
        got, where = float(sd[near].mean()), float(easy.average[near].mean())
        away = abs(where - average) > 15.0
        checks.append(
            Check(
                f"scores: sd of a game at an average of {average:g}, the nearest 6 of 40",
                row["source"],
                f"{low:g} to {high:g}",
                f"{got:.1f} at {where:.0f}" + (" (nobody nearer)" if away else ""),
                verdict(low <= got <= high and not away),
            )
        )
    within = easy.scores.var(axis=2, ddof=1).mean(axis=1)
    between = easy.scores.mean(axis=2).var(axis=1, ddof=1) - within / GAMES
    day = float(np.sqrt(max(between.mean(), 0.0)))
    row = data["day_to_day"]
    return [
        *checks,
        Check(
            "scores: sd from day to day, chance within games taken off",
            row["source"],
            f"{row['low']:g} to {row['high']:g}",
            f"{day:.1f}",
            verdict(row["low"] <= day <= row["high"]),
        ),
    ]


def _choice_checks(
    data: dict[str, Any], people: Sequence[Bowler], house: Lane, easy: _Played, hard: _Played
) -> list[Check]:
    """Ball against pattern: the ball chosen against any of the bag, on one pattern."""
    floor = floor_of(house, *kernel_film(house))
    setting = _setting(people, house)
    lost = []
    for b in people:
        if len(b.bag) < 2:
            continue
        spares = setting.stances[b.bowler].spares
        worth = [
            find_line(
                replace(b, bag=(ball,)), floor, _pins().arrays, spares.clear, spares.more
            ).worth
            for ball in b.bag
        ]
        lost.append(max(worth) - sum(worth) / len(worth))
    pattern = float((easy.average - hard.average).mean())
    ball = float(np.mean(lost))
    return [
        Check(
            "scores: best ball of the bag against the bag's mean, and house against sport",
            data["ball_choice"]["source"],
            "the ball is worth less than the pattern",
            f"ball {ball:.1f}, pattern {pattern:.1f} pins a game",
            verdict(ball < pattern),
        ),
    ]


def _worn(people: Sequence[Bowler], games: int, lane: Lane) -> tuple[Array, Array]:
    """Film before and after so many games of each on a pair (half on each lane), mean of 16 nights."""
    setting = _setting(people, lane)
    pair = pairs_of(people)[0]
    draws = np.stack(
        [
            night_draws(SEED, b.bowler, block=0, games=games, purpose=Purpose.CHECK)[:16]
            for b in pair.bowlers
        ],
        axis=1,
    )
    ends = np.empty((16, 2, *setting.films.shape[1:]))
    play_block(
        setting.films, setting.mix, setting.pulls, setting.crews[0], _pins(), draws, games, 0,
        ends=ends,
    )  # fmt: skip
    return setting.films[0][:, 1:-1], ends.mean(axis=(0, 1))[:, 1:-1]


def _wear_checks(data: dict[str, Any]) -> list[Check]:
    lane = _sport()
    row, head = data["track"], data["heads"]
    still = _person("tweener", 50, "one", move_gain=0.0)
    before, after = _worn([still], 2 * row["games"], lane)
    lost = 1.0 - after[TRACK_ROWS] / np.maximum(before[TRACK_ROWS], 1e-9)
    track = float(np.where(before[TRACK_ROWS] > 0.0, lost, 0.0).max(axis=1).mean())
    four = [_person(s, 60 + k, "four") for k, s in enumerate(("stroker", "tweener") * 2)]
    before, after = _worn(four, head["games"] // 2, lane)
    middle = slice(14, 25)
    left = float(after[HEAD_ROWS, middle].sum() / before[HEAD_ROWS, middle].sum())
    gone = (before - after)[: int(LENGTH_FT)]
    quiet, busy = float(gone[:, 29:].sum()), float(gone[:, :10].sum() + gone[:, 10:20].sum())
    carried = []
    for absorption in (0.0, 0.9):
        same = [
            replace(b, bag=tuple(replace(x, absorption=absorption) for x in b.bag)) for b in four
        ]
        before, after = _worn(same, head["games"] // 2, lane)
        carried.append(float((after - before)[int(LENGTH_FT) :].sum()))
    return [
        Check(
            f"wear: oil lost from the most used board, one bowler, {row['games']} games a lane",
            row["source"],
            f"over {row['lost_share']:.0%}",
            f"{track:.0%}",
            verdict(track > row["lost_share"]),
            "fit",
        ),
        Check(
            f"wear: heads of boards 15 to 25 left after {head['games']} games",
            head["source"],
            f"{head['left_low']:.0%} to {head['left_high']:.0%}",
            f"{left:.0%}",
            verdict(head["left_low"] <= left <= head["left_high"]),
        ),
        Check(
            "wear: oil lost left of board 29 against right of board 21, right-handers only",
            data["quiet_side"]["source"],
            f"under {data['quiet_side']['share']:.2f}",
            f"{round(quiet / busy, 3) + 0.0:.3f}",
            verdict(quiet < data["quiet_side"]["share"] * busy),
        ),
        Check(
            "wear: oil carried past the pattern, balls that absorb nothing over balls that absorb 0.9",
            data["carrydown"]["source"],
            "above 1",
            f"{carried[0] / carried[1]:.2f}",
            verdict(carried[0] > carried[1]),
        ),
    ]
