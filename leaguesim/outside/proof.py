"""The proof on hidden centers: fit their scores, forecast a switch, hold it against the truth.

``python -m leaguesim.outside.proof`` plays all twenty (hours of one core), writing
``proof.toml`` after each; stopped, it goes on where it was, and ``--part 1/2`` beside ``--part 2/2`` share
the work.  ``proof_rows`` makes its figures rows of the validation.  Does not choose the centers:
``proof_world`` did, before any of them was fitted.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import spearmanr

from leaguesim.center.scores import read_scores
from leaguesim.outside.proof_keep import keep, kept, part_of, write_proof
from leaguesim.outside.proof_rows import TRUTH_SE, Row
from leaguesim.outside.proof_world import CENTERS, NEXT, NOW, SEED, WEEKS, Hidden, hidden_center
from leaguesim.play.setting import pins_of
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.run.totals import SCALE
from leaguesim.study.fitting import fit
from leaguesim.study.forecasting import forecast
from leaguesim.study.intervals import change_se
from leaguesim.study.invented import season_csv
from leaguesim.study.prepare import ready

Array = NDArray[np.float64]

SEASON_REPLICATE, TRUTH_REPLICATE = 7_000_000, 7_000_001
TRUTH_ROUND, TRUTH_MOST = (
    512,
    5120,
)  # nights: rounds until everybody's true change is told well enough
UNKNOWNS, NIGHTS = 32, 16
AWAY: Final = 0.06  # share of nights that a bowler misses


@dataclass(frozen=True)
class Outcome:
    """One center: true changes and their errors, forecasts and 90 % intervals; arrays by bowler."""

    number: int
    world: str
    truth: Array
    truth_se: Array
    told: Array
    low: Array
    high: Array
    league: tuple[float, float, float, float]  # truth, forecast, low, high [pins]
    seconds: float


def true_world(
    hidden: Hidden, workers: int | None
) -> tuple[str, dict[str, tuple[float, float]], float]:
    """A season's scores as CSV, every bowler's true change with its error, and the league's."""
    with ready(hidden.truth, hidden.seed, workers=workers, tie=False) as made:
        made.pins = pins_of(hidden.library)
        made.seat(hidden.people)
        text = season_csv(made, NOW, WEEKS, missed=AWAY, replicate=SEASON_REPLICATE)
        settings = [made.setting(NOW), made.setting(NEXT)]
        n = len(made.people)
        plan = Plan(
            settings, made.pairs, made.pins, made.center.league, np.ones((1, n), np.bool_),
            hidden.seed, replicate=TRUTH_REPLICATE,
        )  # fmt: skip
        t = plan.empty()
        change, se = np.zeros(n), np.full(n, np.inf)
        while t.nights < TRUTH_MOST and se.max() > TRUTH_SE:
            t.add(play_nights(plan, t.nights, t.nights + TRUTH_ROUND, made.workers))
            change, se = change_se(
                t.average[0], t.average[1], t.square[0, 0], t.square[1, 1], t.square[0, 1], t.nights
            )
        league = float((t.group[1, 0] - t.group[0, 0]) / SCALE / t.nights)
        names = [b.bowler for b in made.order]
    return (
        text,
        {k: (float(c), float(s)) for k, c, s in zip(names, change, se, strict=True)},
        league,
    )


def prove(number: int, *, seed: int = SEED, workers: int | None = None) -> Outcome:
    """Fit one hidden center on its scores alone, forecast its switch, compare with the truth."""
    started = time.process_time()
    hidden = hidden_center(number, seed)
    text, truth, league = true_world(hidden, workers)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "scores.csv"
        place.write_text(text, encoding="utf-8")
        scores = read_scores(hidden.known, place)
    found = fit(hidden.known, scores, seed=hidden.seed, workers=workers)
    told = forecast(
        hidden.known, now=NOW, next=NEXT, fitted=found.fitted, seed=hidden.seed + 1,
        unknowns=UNKNOWNS, nights=NIGHTS, workers=workers,
    )  # fmt: skip
    table, row = told.bowlers, told.league
    true = np.array([truth[b] for b in table["bowler"]])
    return Outcome(
        number, hidden.world, true[:, 0], true[:, 1], table["change"].to_numpy(),
        table["low"].to_numpy(), table["high"].to_numpy(),
        (league, row["change"], row["low"], row["high"]), time.process_time() - started,
    )  # fmt: skip


def row_of(o: Outcome) -> Row:
    """The few figures of a center that are kept."""
    covered = (o.low <= o.truth) & (o.truth <= o.high)
    return Row(
        number=o.number,
        world=o.world,
        bowlers=int(o.truth.size),
        covered=int(covered.sum()),
        league_truth=round(o.league[0], 3),
        league_told=round(o.league[1], 3),
        league_low=round(o.league[2], 3),
        league_high=round(o.league[3], 3),
        spearman=round(float(spearmanr(o.told, o.truth).statistic), 4),
        rms_error=round(float(np.sqrt(((o.told - o.truth) ** 2).mean())), 3),
        median_width=round(float(np.median(o.high - o.low)), 3),
        truth_se_median=round(float(np.median(o.truth_se)), 3),
        truth_se_most=round(float(o.truth_se.max()), 3),
        cpu_s=round(o.seconds),
    )


def order(count: int = CENTERS) -> list[int]:
    """Both worlds in turn, so that a run cut short has as many of each."""
    half = CENTERS // 2
    return [k for pair in zip(range(half), range(half, CENTERS), strict=True) for k in pair][:count]


def main(arguments: Sequence[str] | None = None) -> int:
    """Prove the centers that are not done yet and write the figures of all that are."""
    parser = argparse.ArgumentParser(prog="python -m leaguesim.outside.proof")
    parser.add_argument("--centers", type=int, default=CENTERS, help="so many of the twenty")
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--until", default="", metavar="HH:MM", help="start no center after it")
    parser.add_argument("--part", default="1/1", metavar="I/N", help="one of N disjoint parts")
    parser.add_argument("--keep", type=Path, default=Path("reports/proof-centers"), metavar="FOLDER",
                        help="centers that are done; parts that run at once share it")  # fmt: skip
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("proof.toml"))
    asked = parser.parse_args(arguments)
    for number in part_of(order(asked.centers), asked.part):
        if number in kept(asked.keep):
            continue
        if asked.until and time.strftime("%H:%M") >= asked.until:
            break
        row = row_of(prove(number, workers=asked.workers))
        keep(asked.keep, row)
        write_proof(asked.keep, asked.out)
        sys.stderr.write(f"{row}\n")
    if kept(asked.keep):
        write_proof(asked.keep, asked.out)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
