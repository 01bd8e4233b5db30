"""How the lanes of a center differ, pair by pair: what a pair of lanes is played as.

Pair k of the league plays on lanes 2k + 1 and 2k + 2, every night.  Its two lanes have one film and one
roughness, the mean of both, and each its own tilt.  Does not lay oil.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from leaguesim.lane.values import LaneState, Surface


class PairState(NamedTuple):
    """A pair of lanes: its surface (tilt is the mean), film laid over film asked for, both tilts [in]."""

    surface: Surface
    film_factor: float
    tilt_in: tuple[float, float]


def pair_state(
    states: Sequence[LaneState], surface: Surface, pair: int, *, own: bool = True
) -> PairState:
    """What one pair of lanes is played as.

    Parameters
    ----------
    states : the lanes that differ, by number; any other is as the surface
    pair : from 0
    own : False on another surface than the center's: it comes with its own roughness, tilt and
        residue on every lane, only the film factor of a lane stays
    """
    known = {s.lane: s for s in states}
    lanes = [_filled(known.get(n), surface, own) for n in (2 * pair + 1, 2 * pair + 2)]
    a, b = (lane[0] for lane in lanes)
    mean = replace(
        surface,
        roughness_uin=0.5 * (a.roughness_uin + b.roughness_uin),
        tilt_in=0.5 * (a.tilt_in + b.tilt_in),
        residue_units=0.5 * (a.residue_units + b.residue_units),
    )
    return PairState(mean, 0.5 * (lanes[0][1] + lanes[1][1]), (a.tilt_in, b.tilt_in))


def _filled(state: LaneState | None, surface: Surface, own: bool) -> tuple[Surface, float]:
    if state is None:
        return surface, 1.0
    if not own:
        return surface, state.film_factor
    roughness, tilt, residue = state.roughness_uin, state.tilt_in, state.residue_units
    filled = replace(
        surface,
        roughness_uin=surface.roughness_uin if roughness is None else roughness,
        tilt_in=surface.tilt_in if tilt is None else tilt,
        residue_units=surface.residue_units if residue is None else residue,
    )
    return filled, state.film_factor


def turned(states: Sequence[LaneState]) -> tuple[LaneState, ...]:
    """Lanes seen in a mirror: every tilt changes sides."""
    return tuple(replace(s, tilt_in=None if s.tilt_in is None else 0.0 - s.tilt_in) for s in states)


def lane_words(states: Sequence[LaneState], pairs: int) -> list[str]:
    """What the page must say of lanes that differ, in sentences; nothing if none does.

    Parameters
    ----------
    pairs : pairs of lanes that the league plays on
    """
    used = [s for s in states if s.lane <= 2 * pairs]
    if not used:
        return []
    numbers = ", ".join(str(s.lane) for s in sorted(used, key=lambda s: s.lane))
    said = (
        f"Lanes {numbers} differ from the others as center.toml says; the rest are taken as equal. "
        "Teams, by name, two and two, keep the same pair of lanes all season, lanes 1 and 2 first, so "
        "what a team scores is in part what its lanes give. The two lanes of a pair are played with the "
        "mean of their films and of their roughness, each with its own tilt."
    )
    return [said]
