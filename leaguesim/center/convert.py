"""Checked files into the frozen values of the rooms below.

Does not check anything: it is called only when no fault was found.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import Spread, Style
from leaguesim.center import models, models_play
from leaguesim.lane.priors import coarse_conditioner
from leaguesim.lane.values import (
    CONTACT_CONSTANTS,
    Band,
    Coarse,
    Condition,
    Conditioner,
    EarlierPlay,
    FrictionConstants,
    LaneDoubt,
    LaneState,
    Readings,
    Surface,
)
from leaguesim.play.values import FairnessLimits, LeagueFormat, Prices, Thresholds

UM_M = 1e-6
MPA_PA = 1e6


def shares(table: dict[str, float]) -> tuple[tuple[str, float], ...]:
    """Shares sorted by name, adding up to 1 to rounding."""
    total = math.fsum(table.values())
    return tuple((name, table[name] / total) for name in sorted(table))


def surface(file: models.SurfaceFile) -> Surface:
    """A lane surface."""
    return Surface(**file.model_dump())


def lane_states(files: Sequence[models.LaneTable]) -> tuple[LaneState, ...]:
    """Lanes that differ, by number."""
    made = [LaneState(f.number, **f.model_dump(exclude={"number", "note"})) for f in files]
    return tuple(sorted(made, key=lambda state: state.lane))


def friction(file: models.FrictionTable) -> FrictionConstants:
    """Constants of the friction law, in SI; each way of sharing the load has its own calibration."""
    base = CONTACT_CONSTANTS if file.load_sharing == "contact" else FrictionConstants()
    given: dict[str, Any] = {
        "c_a": file.c_a,
        "drag_c": file.drag_c,
        "h_f0_m": None if file.h_f0_um is None else file.h_f0_um * UM_M,
        "pressure_pa": None if file.pressure_mpa is None else file.pressure_mpa * MPA_PA,
    }
    return replace(base, **{key: value for key, value in given.items() if value is not None})


def league(file: models.LeagueTable) -> LeagueFormat:
    """The league's format."""
    return LeagueFormat(**file.model_dump(exclude={"after", "population", "people"}))


def earlier(file: models.AfterTable | None) -> EarlierPlay | None:
    """Earlier play, if any was written."""
    return EarlierPlay(file.games_per_lane, shares(file.styles)) if file else None


def thresholds(file: models.KeptHappyTable) -> Thresholds:
    """Thresholds of kept happy."""
    return Thresholds(**file.model_dump())


def fairness(file: models.FairnessTable) -> FairnessLimits:
    """What fairness is judged by."""
    return FairnessLimits(**file.model_dump())


def prices(file: models.PricesTable) -> Prices:
    """Prices."""
    return Prices(**file.model_dump())


def lane_doubt(file: models.DoubtsTable) -> LaneDoubt:
    """How well lanes, machine and friction constants are known."""
    return LaneDoubt(**file.model_dump())


def conditioners(files: Mapping[str, models.ConditionerFile]) -> dict[str, Conditioner]:
    """Conditioners named by their files; those in words take the rest from the one they name."""
    words = {"than", "friction", "kind", "wears"}
    made = {
        name: Conditioner(name=name, **file.model_dump(exclude=words))
        for name, file in files.items()
        if file.than is None
    }
    coarse = {
        name: coarse_conditioner(
            name,
            Coarse(file.than, file.friction, file.kind, file.wears),
            made[file.than],
            file.model_dump(exclude=words, exclude_unset=True),
        )
        for name, file in files.items()
        if file.than is not None
    }
    return {name: (made | coarse)[name] for name in files}


def ball(name: str, file: models_play.BallFile) -> Ball:
    """A ball named by its file."""
    return Ball(name=name, **file.model_dump())


def condition(
    name: str,
    file: models.ConditionFile,
    readings: Readings | None,
    league_after: models.AfterTable | None,
) -> Condition:
    """A condition named by its file; without earlier play of its own it takes the league's."""
    bands = tuple(
        Band(
            from_ft=band.from_ft,
            to_ft=band.to_ft,
            from_board=band.from_board,
            to_board=band.to_board,
            volume_ml=band.volume_ml,
            shares=shares(band.shares),
        )
        for band in file.bands
    )
    after = earlier(file.after or league_after)
    return Condition(name=name, title=file.title, bands=bands, readings=readings, after=after)


def _spread(
    file: models_play.SpeedSpread
    | models_play.RevSpread
    | models_play.RotationSpread
    | models_play.TiltSpread
    | models_play.AccuracySpread,
) -> Spread:
    return Spread(mean=file.mean, sd=file.sd, low=file.low, high=file.high)


def style(name: str, file: models_play.StyleFile) -> Style:
    """A style named by its file."""
    plain = file.model_dump(
        exclude={
            "speed_mph",
            "rev_rate_rpm",
            "axis_rotation_deg",
            "axis_tilt_deg",
            "accuracy_deg",
            "bag",
        }
    )
    return Style(
        name=name,
        speed_mph=_spread(file.speed_mph),
        rev_rate_rpm=_spread(file.rev_rate_rpm),
        axis_rotation_deg=_spread(file.axis_rotation_deg),
        axis_tilt_deg=_spread(file.axis_tilt_deg),
        accuracy_deg=_spread(file.accuracy_deg),
        bag=tuple(file.bag),
        **plain,
    )
