"""Bowlers against what is published of good and ordinary ones: accuracy, pocket, spares, strikes.

Everybody stands on the patterns of the score checks; nobody is tied to an average.
"""

from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.lineup import floor_of, throw_many, with_errors
from leaguesim.bowlers.release import delivery, even_errors
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.arrays import kernel_film, kernel_table
from leaguesim.lane.lane import Lane
from leaguesim.outside import bowlers_checks as people_of
from leaguesim.outside.ball_checks import path_of
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.direction_checks import PAIRED
from leaguesim.outside.figures import figures
from leaguesim.outside.league_play import league, played
from leaguesim.outside.rotation_checks import shipped_sweep
from leaguesim.pins.spec import mask_of
from leaguesim.play import _kernel
from leaguesim.play.crew import Stance

Array = NDArray[np.float64]

SHOTS: Final = 512


def people_checks() -> list[Check]:
    """Styles, accuracy by average, arrivals of good players, spares of elite ones, strikes by night."""
    d = figures("people")
    return [
        _style_row(d["styles"]),
        _left_row(d["left_handed"]),
        _arrow_row(d["arrows"]),
        *_good_rows(d),
        _spare_row(d["corner_spares"]),
        _straight_row(d["straight"]),
        _strike_row(d["strikes"]),
        *_line_rows(d["speed_lost"], d["depth"]),
    ]


def _line_rows(lost: dict[str, Any], depth: dict[str, Any]) -> list[Check]:
    """Speed lost to the pins, and where each style stands, on the house pattern: league people of each style."""
    house, people = people_of._house(), people_of._league()
    stances = people_of._setting(people, house).stances
    gone: dict[str, list[float]] = {}
    feet: dict[str, list[float]] = {}
    out: dict[str, list[float]] = {}
    for b in people:
        line = stances[b.bowler].line
        path = path_of(b, line, house)
        gone.setdefault(b.style, []).append(b.speed_mph - path.at_pins.speed_mph)
        feet.setdefault(b.style, []).append(line.board)
        out.setdefault(b.style, []).append(float(np.nanmin(path.board)))
    means = {s: float(np.mean(v)) for s, v in gone.items()}
    quoted = figures("ball")["speed_loss"]
    low, high = quoted["quoted_low_mph"], quoted["quoted_high_mph"]
    stand = [float(np.mean(feet[s])) for s in depth["styles"]]
    corner = float(np.mean(out["straight"]))
    return [
        Check(
            "bowlers: speed lost from release to pins, mean of each style, house pattern",
            lost["source"],
            f"{low:g} to {high:g} mph",
            ", ".join(f"{s.replace('_', '-')} {m:.1f}" for s, m in sorted(means.items())),
            verdict(all(low <= m <= high for m in means.values())),
        ),
        Check(
            "bowlers: board under the feet rises with the revs of a style; straight balls keep off the corner",
            depth["source"],
            f"{' < '.join(depth['styles'])}; outermost board of straight balls over {depth['corner_board']:g}",
            ", ".join(f"{s} {x:.1f}" for s, x in zip(depth["styles"], stand, strict=True))
            + f"; outermost {corner:.1f}",
            verdict(stand == sorted(stand) and corner > depth["corner_board"]),
        ),
    ]


def _style_row(row: dict[str, Any]) -> Check:
    styles = people_of._center().styles
    inside = [
        styles[s["style"]].speed_mph.low <= s["mph"] <= styles[s["style"]].speed_mph.high
        and styles[s["style"]].rev_rate_rpm.low <= s["rpm"] <= styles[s["style"]].rev_rate_rpm.high
        for s in row["shots"]
    ]
    return Check(
        "bowlers: published speeds and revs lie within the styles drawn from",
        row["source"],
        f"{len(inside)} of {len(inside)}: "
        + ", ".join(
            f"{s['style'].replace('_', '-')} {s['mph']:g}/{s['rpm']:g}" for s in row["shots"]
        ),
        f"{sum(inside)} of {len(inside)}",
        verdict(all(inside)),
    )


def _left_row(row: dict[str, Any]) -> Check:
    shares = [s.left_handed_share for s in people_of._center().styles.values()]
    return Check(
        "bowlers: share of left-handers in the styles",
        row["source"],
        f"{row['low']:.0%} to {row['high']:.0%}",
        f"{min(shares):.0%} to {max(shares):.0%}",
        verdict(row["low"] <= min(shares) and max(shares) <= row["high"]),
    )


def range_at_arrows(b: Bowler, row: dict[str, Any]) -> float:
    """Expected range of ten shots at the arrows. [boards]"""
    sd = np.hypot(b.accuracy_deg / row["board_deg"], b.laydown_sd_board)
    return float(row["sd_share"] * sd)


def _arrow_row(row: dict[str, Any]) -> Check:
    """A line through the league: how wide people of an average throw."""
    average = played(PAIRED).average["house"]
    wide = np.array([range_at_arrows(b, row) for b in league().people])
    got = [people_of._at(average, wide, x) for x in row["average"]]
    off = [abs(g - w) for g, w in zip(got, row["range_boards"], strict=True)]
    return Check(
        f"bowlers: range of ten shots at the arrows, a line through {wide.size} by house average",
        row["source"],
        ", ".join(
            f"{w:g} at {x:g}" for w, x in zip(row["range_boards"], row["average"], strict=True)
        )
        + f" boards (within {row['within']:g})",
        ", ".join(f"{g:.1f}" for g in got)
        + f"; averages {average.min():.0f} to {average.max():.0f}",
        verdict(max(off) <= row["within"]),
    )


def thrown(stance: Stance, lane: Lane, exit_ft: int | None = None) -> tuple[Array, Array]:
    """(shots, 6) arrivals and (shots, 4) rack values of a line on a fresh film, even errors.

    ``exit_ft``: the last column of arrivals is the board there, else where the oil ends.
    """
    b, line, pins = stance.bowler, stance.line, people_of._pins()
    intent, ball = delivery(b, line.ball)
    floor = floor_of(lane, *kernel_film(lane))
    if exit_ft is not None:
        floor = floor._replace(length_ft=exit_ft)
    return throw_many(
        floor, kernel_table(lane, ball.roughness_uin, ball.mu_dry), ball, intent, b.hand, pins.arrays,
        stance.spares.clear, stance.spares.more, with_errors(intent, line.board, line.angle, even_errors(SHOTS)),
    )  # fmt: skip


def _good_rows(d: dict[str, Any]) -> list[Check]:
    """Experts on the house pattern into the pocket, and on the sport pattern down the lane."""
    row, far = d["pocket"], d["downlane"]
    experts = people_of._experts()
    house, sport = people_of._house(), people_of._sport()
    easy, flat = (people_of._setting(experts, lane).stances for lane in (house, sport))
    hits, strikes, sds = [], [], []
    for b in experts:
        arrival, value = thrown(easy[b.bowler], house)
        offset = arrival[:, 0]
        hit = (offset >= _kernel.POCKET_LOW) & (offset <= _kernel.POCKET_HIGH)
        hits.append(float(hit.mean()))
        strikes.append(float(value[hit, 0].mean()))
        board = thrown(flat[b.bowler], sport, far["distance_ft"])[0][:, 5]
        sds.append(float(np.nanstd(board)))
    pocket, carry, sd = (float(np.mean(x)) for x in (hits, strikes, sds))
    who = f"{len(experts)} experts (220+ accuracy)"
    return [
        Check(
            f"bowlers: first balls of {who} in the pocket, house pattern",
            row["source"],
            f"{row['hit_low']:.0%} to {row['hit_high']:.0%}",
            f"{pocket:.0%} ({min(hits):.0%} to {max(hits):.0%})",
            verdict(row["hit_low"] <= pocket <= row["hit_high"]),
        ),
        Check(
            f"bowlers: pocket hits of {who} that strike, house pattern",
            row["source"],
            f"{row['carry_low']:.0%} to {row['carry_high']:.0%}",
            f"{carry:.0%} ({min(strikes):.0%} to {max(strikes):.0%})",
            verdict(row["carry_low"] <= carry <= row["carry_high"]),
        ),
        Check(
            f"bowlers: sd of {who} at {far['distance_ft']:g} ft on a 2:1 pattern",
            far["source"],
            f"{far['low']:g} to {far['high']:g} boards",
            f"{sd:.2f} ({min(sds):.2f} to {max(sds):.2f})",
            verdict(far["low"] <= sd <= far["high"]),
        ),
    ]


def _spare_row(row: dict[str, Any]) -> Check:
    """Elite accuracy at the corner pins, right-handers."""
    share = row["range_boards"] / 2.0  # experts throw a range of two boards
    elite = [
        replace(
            b, bowler=f"elite {b.bowler}", accuracy_deg=share * b.accuracy_deg,
            laydown_sd_board=share * b.laydown_sd_board, speed_sd_mph=share * b.speed_sd_mph,
            rev_sd_rpm=share * b.rev_sd_rpm, rotation_sd_deg=share * b.rotation_sd_deg,
        )
        for b in people_of._experts()
    ]  # fmt: skip
    stances = people_of._setting(elite, people_of._house()).stances
    ten, seven = (
        float(np.mean([stances[b.bowler].spares.clear[mask_of(pin)] for b in elite]))
        for pin in (10, 7)
    )
    return Check(
        "bowlers: corner pins converted with elite accuracy, 10-pin and 7-pin, right-handers",
        row["source"],
        f"{row['ten']:.1%}, {row['seven']:.1%} (within {row['within']:.1%})",
        f"{ten:.1%}, {seven:.1%}",
        verdict(
            abs(ten - row["ten"]) <= row["within"] and abs(seven - row["seven"]) <= row["within"]
        ),
    )


def _straight_row(row: dict[str, Any]) -> Check:
    """Balls without spin from wherever straight bowlers may stand."""
    who = [
        people_of._person(
            "straight", 200 + k, "no spin", rev_rate_rpm=0.0, axis_rotation_deg=0.0,
            rev_sd_rpm=0.0, rotation_sd_deg=0.0,
        )
        for k in range(4)
    ]  # fmt: skip
    stances = people_of._setting(who, people_of._house()).stances
    angles = [abs(stances[b.bowler].line.entry_deg) for b in who]
    return Check(
        "bowlers: entry angle of balls without spin, best lines on the house pattern",
        row["source"],
        f"at most {row['entry_deg']:g} deg",
        f"{min(angles):.2f} to {max(angles):.2f} deg",
        verdict(max(angles) <= row["entry_deg"]),
    )


def _strike_row(row: dict[str, Any]) -> Check:
    """Variance of a night's strikes over that of coins with the same mean; same people as the sweep."""
    racks, strikes = shipped_sweep().tally
    share = strikes.sum(axis=2) / racks.sum(axis=2)
    chance = (racks * (share * (1.0 - share))[..., None]).mean(axis=2)
    spread = (strikes - racks * share[..., None]).var(axis=2, ddof=1)
    ratio = (spread / chance).ravel()
    mean, se = float(ratio.mean()), float(ratio.std(ddof=1) / np.sqrt(ratio.size))
    return Check(
        "bowlers: strikes vary from night to night, variance over that of coin tosses",
        row["source"],
        "above 1",
        f"{mean:.2f} (se {se:.2f})",
        verdict(mean - 2.0 * se > 1.0),
    )
