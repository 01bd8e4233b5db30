"""What is not known about conditioners: coarse words and stated figures as distributions.

Every spread here is assumed and wide on purpose unless a source stands beside it.  Does not know
centers (``center.priors`` perturbs one) and does not simulate.

A word moves the median of a property against the named conditioner's and widens its doubt:
``friction`` moves viscosity and boundary film, ``wears`` what a passing ball leaves behind, and
``kind`` says whether shear thins the oil.  Positive properties vary on the log scale, shares between
0 and 1 on the logit scale, so no draw leaves its range.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from leaguesim.errors import InputError
from leaguesim.lane.values import Coarse, Conditioner, Doubt

FRICTION_WORDS: Final = ("more", "same", "less")
WEARS_WORDS: Final = ("longer", "same", "shorter")
KIND_WORDS: Final = ("plain", "thickened")
FIGURES: Final = Doubt()  # the doubt of a conditioner given in figures

# Medians against the named conditioner's, log and logit scale; assumed.  "More" is felt as friction:
# at 20 units and 5 m/s the two shifts together raise the reference ball's friction by some 0.01.
_VISCOSITY_SHIFT: Final = 0.25
_BOUNDARY_SHIFT: Final = 0.12
_WEARS_SHIFT: Final = 0.60  # 0.65 left behind becomes 0.77 or 0.50
_THICKENED_BASE_SHARE: Final = 0.60
_THICKENED_RATE: Final = 1.0e6

# Doubts of properties known by a word only, assumed.
_WORD_VISCOSITY_SD: Final = 0.25
_WORD_BOUNDARY_SD: Final = 0.15
_WORD_WEARS_SD: Final = 0.45
_WORD_BASE_SHARE_SD: Final = 0.70  # 0.60 becomes 0.43 to 0.75
_WORD_RATE_SD: Final = 1.2  # a factor 3.3
_WORD_AFFINITY_SD: Final = 0.6
# One word, two properties: a thicker oil leaves less for the boundary to explain.
_WORD_CORRELATION: Final = -0.4

_BASE_SHARE_TOP: Final = 0.999
_EDGE: Final = 1e-4  # shares of exactly 0 or 1 stay where they are


@dataclass(frozen=True)
class Uncertain:
    """One uncertain property of a conditioner: its name, median, and sd on its own scale."""

    name: str
    median: float
    sd: float
    scale: str  # "log" or "logit"

    def at(self, z: float) -> float:
        """The value at a standard normal deviate; the median itself at 0."""
        if z == 0.0:
            return self.median
        if self.scale == "log":
            return self.median * math.exp(self.sd * z)
        if not _EDGE <= self.median <= 1.0 - _EDGE:
            return self.median
        return 1.0 / (1.0 + math.exp(-(_logit(self.median) + self.sd * z)))


def _logit(share: float) -> float:
    return math.log(share / (1.0 - share))


def _moved(share: float, shift: float) -> float:
    if not _EDGE <= share <= 1.0 - _EDGE:
        share = min(max(share, 0.02), 0.98)
    return 1.0 / (1.0 + math.exp(-(_logit(share) + shift)))


def _sign(word: str | None, up: str, down: str) -> float:
    return 1.0 if word == up else -1.0 if word == down else 0.0


def _check_words(name: str, coarse: Coarse) -> None:
    for key, word, allowed in (
        ("friction", coarse.friction, FRICTION_WORDS),
        ("kind", coarse.kind, KIND_WORDS),
        ("wears", coarse.wears, WEARS_WORDS),
    ):
        if word is not None and word not in allowed:
            raise InputError(
                f"conditioner {name}: {key} must be one of {', '.join(allowed)}, got {word!r}"
            )


def coarse_conditioner(
    name: str, coarse: Coarse, reference: Conditioner, given: Mapping[str, float | str | None]
) -> Conditioner:
    """A conditioner known by words against a known one; figures that are given win.

    Parameters
    ----------
    reference : the conditioner that ``coarse.than`` names
    given : properties by field name that are known as figures

    Returns
    -------
    Conditioner with the prior's medians, ``coarse`` and the ``doubt`` that goes with it

    Raises
    ------
    InputError : an unknown word
    """
    _check_words(name, coarse)
    felt = _sign(coarse.friction, "more", "less")
    lasts = _sign(coarse.wears, "longer", "shorter")
    values: dict[str, float] = {
        "boundary_factor": reference.boundary_factor * math.exp(_BOUNDARY_SHIFT * felt),
        "left_behind": _moved(reference.left_behind, _WEARS_SHIFT * lasts)
        if lasts
        else reference.left_behind,
    }
    if "viscosity_mpas" not in given:
        values["viscosity_mpas"] = reference.viscosity_mpas * math.exp(_VISCOSITY_SHIFT * felt)
        values["viscosity_at_c"] = reference.viscosity_at_c
    if coarse.kind == "plain":
        values["base_share"] = 1.0
    elif coarse.kind == "thickened" and reference.base_share >= 1.0:
        values |= {"base_share": _THICKENED_BASE_SHARE, "critical_rate_per_s": _THICKENED_RATE}
    stated = {key: value for key, value in given.items() if value is not None}
    fields = {**values, **stated}
    doubt = Doubt(
        viscosity_log_sd=FIGURES.viscosity_log_sd
        if "viscosity_mpas" in stated
        else _WORD_VISCOSITY_SD,
        boundary_log_sd=FIGURES.boundary_log_sd
        if "boundary_factor" in stated
        else _WORD_BOUNDARY_SD,
        base_share_logit_sd=FIGURES.base_share_logit_sd
        if "base_share" in stated
        else _WORD_BASE_SHARE_SD,
        rate_log_sd=FIGURES.rate_log_sd if "critical_rate_per_s" in stated else _WORD_RATE_SD,
        left_behind_logit_sd=FIGURES.left_behind_logit_sd
        if "left_behind" in stated
        else _WORD_WEARS_SD,
        affinity_logit_sd=FIGURES.affinity_logit_sd
        if "ball_affinity" in stated
        else _WORD_AFFINITY_SD,
        correlation=0.0
        if {"viscosity_mpas", "boundary_factor"} & stated.keys()
        else _WORD_CORRELATION,
    )
    base = replace(reference, name=name, note="", price_per_litre=None)
    return replace(base, coarse=coarse, doubt=doubt, **fields)  # type: ignore[arg-type]


def uncertain(conditioner: Conditioner) -> tuple[Uncertain, ...]:
    """The uncertain properties of a conditioner, in a fixed order; a plain oil has four, else six."""
    c, doubt = conditioner, conditioner.doubt
    found = [
        Uncertain("viscosity_mpas", c.viscosity_mpas, doubt.viscosity_log_sd, "log"),
        Uncertain("boundary_factor", c.boundary_factor, doubt.boundary_log_sd, "log"),
        Uncertain("left_behind", c.left_behind, doubt.left_behind_logit_sd, "logit"),
        Uncertain("ball_affinity", c.ball_affinity, doubt.affinity_logit_sd, "logit"),
    ]
    if c.base_share < _BASE_SHARE_TOP:
        found += [
            Uncertain("base_share", c.base_share, doubt.base_share_logit_sd, "logit"),
            Uncertain("critical_rate_per_s", c.critical_rate_per_s, doubt.rate_log_sd, "log"),
        ]
    return tuple(found)


def conditioner_at(conditioner: Conditioner, deviates: Mapping[str, float]) -> Conditioner:
    """The conditioner at standard normal deviates by property; one that is absent stays at 0.

    ``boundary_factor`` takes its correlation with viscosity from the doubt.  Values are kept within
    what ``mixture_of`` accepts.
    """
    rho = conditioner.doubt.correlation
    made: dict[str, float] = {}
    for part in uncertain(conditioner):
        z = float(deviates.get(part.name, 0.0))
        if not math.isfinite(z):
            raise InputError(f"{conditioner.name}: deviate of {part.name} must be finite, got {z}")
        if part.name == "boundary_factor":
            thick = float(deviates.get("viscosity_mpas", 0.0))
            z = rho * thick + math.sqrt(1.0 - rho * rho) * z
        low, high = _LIMITS.get(part.name, (0.0, 1.0))
        made[part.name] = min(max(part.at(z), low), high)
    return replace(conditioner, **made)  # type: ignore[arg-type]


_LIMITS: Final = {
    "viscosity_mpas": (1.0, 1000.0),
    "boundary_factor": (0.05, 20.0),
    "critical_rate_per_s": (1.0, 1e12),
}
