"""One switch of conditions on several surfaces: does one product suit old lanes and new ones?

People are tied to their averages on the center's own surface and taken over to the others with the
same nights and luck.  Does not draw, and does not say what a surface costs to renew.
"""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.play.setting import Setting
from leaguesim.run.rounds import Plan, Progress, check_nights, play_until, quiet
from leaguesim.run.totals import SCALE, Totals
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.happy import band_of, judge, measures, norms
from leaguesim.study.intervals import Z95
from leaguesim.study.notes import NOTICE_PINS, study_notes
from leaguesim.study.paired import entering_averages, group_change
from leaguesim.study.prepare import ready
from leaguesim.study.results import plain

SCHEMA = "leaguesim.surfaces/1"
OWN = "own"
TARGET_SE = 0.25  # pins, of the league's change on every surface


def _and(names: Sequence[str]) -> str:
    """The names in a sentence.

    >>> _and(["old", "new", "as now"])
    'old, new and as now'
    """
    return " and ".join(x for x in (", ".join(names[:-1]), names[-1]) if x)


@dataclass(frozen=True)
class SurfacesResult:
    """``study.across_surfaces``: one row a surface, the center's own (``own``) first.

    A row has surface, name, roughness_uin, average_now, average_next, change and change_se, low, high
    (95 %, the luck of the nights), kept_happy_now, kept_happy_next, lost, won_back; and but for the own
    surface other and other_se: its change less the change on the own surface.
    """

    center: str
    now: str
    next: str
    nights: int
    seed: int
    rows: list[dict[str, Any]]
    notes: list[str]
    manifest: dict[str, Any] = field(default_factory=dict)
    now_title: str = ""
    next_title: str = ""
    invented: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "now_title", self.now_title or self.now)
        object.__setattr__(self, "next_title", self.next_title or self.next)

    @property
    def answer(self) -> str:
        """Whether the surfaces ask for different products, in a sentence."""
        better = {
            r["name"]: 0 if r["low"] <= 0.0 <= r["high"] else 1 if r["change"] > 0 else -1
            for r in self.rows
        }
        up, down = ([n for n, s in better.items() if s == sign] for sign in (1, -1))
        if up and down:
            return (
                f"One product does not suit all: {self.next_title} raises the league's average on "
                f"{_and(up)} and lowers it on {_and(down)}."
            )
        if up or down:
            word = "raises" if up else "lowers"
            changes = [abs(r["change"]) for r in self.rows if r["name"] in (up or down)]
            least, most = f"{min(changes):.1f}", f"{max(changes):.1f}"
            size = f"by {least}{'' if least == most else f' to {most}'} pins"
            if max(changes) < NOTICE_PINS:
                size += ", less than anybody would notice"
            rest = [n for n, s in better.items() if s == 0]
            if not rest:
                where = f"on every surface ({len(self.rows)})"
                return f"{self.next_title} {word} the league's average {where}, {size}."
            told = f"; on {_and(rest)} no change can be told"
            return f"{self.next_title} {word} the league's average on {_and(up or down)}, {size}{told}."
        return f"No change of the league's average can be told on any surface with {self.nights} nights."

    def to_json(self) -> str:
        """Strict JSON."""
        told = {
            "schema": SCHEMA, "manifest": self.manifest, "center": self.center, "now": self.now,
            "next": self.next, "nights": self.nights, "seed": self.seed, "answer": self.answer,
            "surfaces": self.rows, "notes": self.notes,
        }  # fmt: skip
        return json.dumps(plain(told), indent=1, allow_nan=False)


def across_surfaces(
    center: Center,
    *,
    now: str,
    next: str,  # noqa: A002 - as in ``compare``
    surfaces: Sequence[str] | None = None,
    seed: int | None = None,
    nights: int | None = None,
    workers: int | None = None,
    progress: Progress = quiet,
) -> SurfacesResult:
    """What the same switch does on the center's own surface and on others.

    Parameters
    ----------
    surfaces : names of files in surfaces/; None: all of them
    nights : exactly so many; None goes on until the league's change on every surface is known to 0.25
        pin (standard error) or 2,000 nights are played

    Notes
    -----
    Kept happy is judged everywhere by the norms of today's condition on the center's own surface.

    Raises
    ------
    InputError : no such condition or surface, no surface, or nights, workers or seed out of range
    """
    from leaguesim.center import find_condition, on_surface

    for name in (now, next):
        find_condition(center, name)
    names = sorted(center.surfaces) if surfaces is None else list(dict.fromkeys(surfaces))
    for name in names:
        on_surface(center, name)
    if not names:
        raise InputError(f"{center.name}: has no surfaces/ to go over to, only its own")
    seed = new_seed() if seed is None else check_seed(seed)
    check_nights(nights)
    with ready(center, seed, workers=workers, progress=progress) as made:
        progress(0, 0, "lining up on each surface")
        settings: list[Setting] = [made.setting(center.today)]
        for name in (OWN, *names):
            if name != OWN:
                made.on(center.surfaces[name])
            settings += [made.setting(now), made.setting(next)]
        everybody = np.ones((1, len(made.order)), np.bool_)
        plan = Plan(settings, made.pairs, made.pins, center.league, everybody, seed)

        def enough(totals: Totals) -> bool:
            return all(_change(totals, k)[1] <= TARGET_SE for k in range(len(names) + 1))

        totals, _ = play_until(
            plan, nights=nights, workers=workers, enough=enough, progress=progress
        )
        made.on(center.surface)
        notes = study_notes(made, [now, next])
        entering = entering_averages(made)
    rows = _rows(center, totals, names, entering)
    titles = [center.conditions[name].title for name in (now, next)]
    return SurfacesResult(
        center.name, now, next, totals.nights, seed, rows, notes,
        now_title=titles[0], next_title=titles[1], invented=center.invented,
    )  # fmt: skip


def _change(totals: Totals, k: int) -> tuple[float, float]:
    """The league's change on the k-th surface and its standard error. [pins]"""
    change, se = group_change(totals, (1 + 2 * k, 2 + 2 * k))
    return float(change[0]), float(se[0])


def _other(totals: Totals, k: int) -> tuple[float, float]:
    """Change on the k-th surface less the change on the own one, the night as unit. [pins]"""
    weights = np.zeros(totals.group.shape[0])
    weights[[1 + 2 * k, 2 + 2 * k, 1, 2]] = (-1.0, 1.0, 1.0, -1.0)
    n = totals.nights
    mean = float(weights @ totals.group[:, 0]) / SCALE / n
    square = float(weights @ (totals.group_square[:, :, 0] / SCALE) @ weights)
    se = math.sqrt(max(square - n * mean**2, 0.0) / (n - 1) / n) if n > 1 else math.nan
    return mean, se


def _rows(
    center: Center, totals: Totals, names: Sequence[str], entering: np.ndarray
) -> list[dict[str, Any]]:
    limits = center.thresholds
    today = measures(totals, 0)
    reference = np.where(np.isnan(entering), today.average, entering)
    usual = norms(today, band_of(reference), limits)
    rows = []
    for k, key in enumerate((OWN, *names)):
        surface = center.surface if key == OWN else center.surfaces[key]
        change, se = _change(totals, k)
        row: dict[str, Any] = {
            "surface": key, "name": f"{surface.name} (as now)" if key == OWN else surface.name,
            "roughness_uin": surface.roughness_uin,
            "change": change, "change_se": se, "low": change - Z95 * se, "high": change + Z95 * se,
        }  # fmt: skip
        happy = []
        for side, c in (("now", 1 + 2 * k), ("next", 2 + 2 * k)):
            row[f"average_{side}"] = float(totals.group[c, 0] / SCALE / totals.nights)
            kept = judge(measures(totals, c), reference, usual, limits).happy
            told = kept[np.isfinite(kept)]
            row[f"kept_happy_{side}"] = float(told.mean()) if told.size else np.nan
            happy.append(kept)
        row["lost"] = int(((happy[0] == 1.0) & (happy[1] == 0.0)).sum())
        row["won_back"] = int(((happy[0] == 0.0) & (happy[1] == 1.0)).sum())
        if key != OWN:
            row["other"], row["other_se"] = _other(totals, k)
        rows.append(row)
    return rows
