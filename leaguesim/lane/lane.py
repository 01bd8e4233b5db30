"""The lane as a ball meets it: film, mixes, roughness, tilt, temperature, and friction on request.

Does not move balls and does not wear itself: play copies ``film`` and hands the copy to the kernels.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leaguesim.errors import InputError
from leaguesim.lane.film import PIT_CELLS_FT, ROWS, condition_film, lane_total, volume_ml
from leaguesim.lane.friction import FrictionTable, build_table, friction
from leaguesim.lane.mixture import QUANTUM, Mixture, blend, mix_grid, mixture_of, thickened
from leaguesim.lane.values import Condition, Conditioner, FrictionConstants, Surface
from leaguesim.lane.viscosity import PREMIX_CAUTION
from leaguesim.units import BOARDS, CELLS_FT, FRICTION_MAX, UNIT_M

Array = NDArray[np.float64]

PIT_FT = float(CELLS_FT + PIT_CELLS_FT)


def _laid(film: Array, factor: float, residue_units: float) -> Array:
    """Fresh film times the machine's error, over what cleaning left up to the head pin. [units]"""
    if not (math.isfinite(factor) and 0.2 <= factor <= 5.0):
        raise InputError(f"film_factor must be from 0.2 to 5, got {factor!r}")
    if not (math.isfinite(residue_units) and 0.0 <= residue_units <= 20.0):
        raise InputError(f"residue_units must be from 0 to 20, got {residue_units!r}")
    if factor != 1.0:
        film = film * factor
    if residue_units:
        film = film.copy()
        film[:CELLS_FT] += residue_units
    return film


def _blend_note(
    owner: str,
    mixes: Sequence[Sequence[int]],
    mixtures: Sequence[Mixture],
    temperature_c: float,
) -> str:
    """One sentence: the viscosity of the blends on this lane and how sure it is."""
    blends = [m for parts, m in zip(mixes, mixtures, strict=True) if max(parts) < QUANTUM]
    found = sorted(m.viscosity_pas(temperature_c) * 1e3 for m in blends)
    low, high = f"{found[0]:.0f}", f"{found[-1]:.0f}"
    span = low if low == high else f"{low} to {high}"
    error = max(m.viscosity_error for m in blends)
    return (
        f"{owner}: its blends have {span} mPa.s at {temperature_c:g} C, give or take {error:.0%} "
        "(standard error of the double-logarithm rule of ASTM D7152)."
    )


@dataclass(frozen=True, eq=False)
class Lane:
    """One lane in one condition; make it with ``from_condition``, ``uniform`` or ``zones``.

    Attributes
    ----------
    film : (63, 39) total film, three rows beyond the head pin for carried oil. [units]
    mix_index : (63, 39) int8 which of ``mixtures`` a cell holds
    mixtures : the distinct oils on this lane
    fixed_mu : None, or (edges_ft, mu): mu[i] holds from edges[i] to edges[i+1] whatever the ball
    notes : what the maker of this lane should be told
    """

    film: Array
    mix_index: NDArray[np.int8]
    mixtures: tuple[Mixture, ...]
    surface: Surface = field(default_factory=Surface)
    temperature_c: float = 21.0
    constants: FrictionConstants = field(default_factory=FrictionConstants)
    fixed_mu: tuple[Array, Array] | None = None
    notes: tuple[str, ...] = ()
    name: str = ""
    _tables: dict[tuple[float, float], FrictionTable] = field(
        default_factory=dict, repr=False, compare=False
    )

    @classmethod
    def uniform(cls, mu: float) -> "Lane":
        """A lane of one friction coefficient, whatever the ball."""
        return cls.zones([(PIT_FT, mu)])

    @classmethod
    def zones(cls, zones: Sequence[tuple[float, float]]) -> "Lane":
        """A lane of given friction: (to_ft, mu) from the foul line on; the last runs to the pit.

        Raises
        ------
        InputError : no zone, ends that do not rise from above 0 ft, or mu not in 0..1
        """
        ends = np.array([to_ft for to_ft, _ in zones], dtype=np.float64)
        mu = np.array([value for _, value in zones], dtype=np.float64)
        if len(ends) == 0:
            raise InputError("lane zones: at least one (to_ft, mu) is needed")
        if not np.isfinite(ends).all() or ends[0] <= 0.0 or (np.diff(ends) <= 0.0).any():
            raise InputError(f"lane zones: to_ft must rise from above 0, got {ends.tolist()}")
        if not (np.isfinite(mu).all() and (mu >= 0.0).all() and (mu <= 1.0).all()):
            raise InputError(f"lane zones: mu must be from 0 to 1, got {mu.tolist()}")
        if len(ends) > 1 and ends[-2] >= PIT_FT:
            raise InputError(f"lane zones: the last zone starts beyond the pit ({PIT_FT:g} ft)")
        edges = np.concatenate([[0.0], ends[:-1], [max(PIT_FT, float(ends[-1]))]])
        film = np.zeros((ROWS, BOARDS))
        oil = (mixture_of(Conditioner("none")),)
        return cls(film, np.zeros((ROWS, BOARDS), np.int8), oil, fixed_mu=(edges, mu), name="fixed")

    @classmethod
    def from_condition(
        cls,
        condition: Condition,
        conditioners: Mapping[str, Conditioner] | Sequence[Conditioner],
        *,
        surface: Surface | None = None,
        temperature_c: float = 21.0,
        constants: FrictionConstants | None = None,
        film_factor: float = 1.0,
        blend_z: float = 0.0,
    ) -> "Lane":
        """The lane after the machine has laid a condition on it (earlier play is not applied).

        Parameters
        ----------
        film_factor : film laid over film asked for, the machine's application error
        blend_z : error of every blend's viscosity, in the standard errors of ``Mixture``

        A surface's residue lies under the fresh oil; the mix of a cell is that of the fresh oil.

        Raises
        ------
        InputError : oil off the lane, unknown conditioner, shares that do not add up to 1, ...
        """
        known = list(conditioners.values() if isinstance(conditioners, Mapping) else conditioners)
        names = [c.name for c in known]
        if isinstance(conditioners, Mapping):
            names = list(conditioners)
        if not known or len(set(names)) != len(names):
            raise InputError(f"{condition.name}: conditioners must be given, each name once")
        if not -10.0 <= temperature_c <= 60.0:
            raise InputError(f"lane temperature must be from -10 to 60 deg C, got {temperature_c}")
        film, overall, notes = condition_film(condition, names)
        index, mixes = mix_grid(film, overall)
        pure = [mixture_of(c) for c in known]
        mixtures = tuple(blend(pure, [part / QUANTUM for part in parts]) for parts in mixes)
        if blend_z:
            mixtures = tuple(thickened(m, math.exp(blend_z * m.viscosity_error)) for m in mixtures)
        total = _laid(film.sum(axis=0), film_factor, surface.residue_units if surface else 0.0)
        if any(max(parts) < QUANTUM for parts in mixes):
            notes += (f"{condition.name}: conditioners are blended on the lane. " + PREMIX_CAUTION,)
            notes += (_blend_note(condition.name, mixes, mixtures, temperature_c),)
        return cls(
            total,
            index,
            mixtures,
            surface or Surface(),
            temperature_c,
            constants or FrictionConstants(),
            None,
            notes,
            condition.name,
        )

    @property
    def film_units(self) -> Array:
        """(60, 39) film from foul line to head pin, foot by board. [units]"""
        return self.film[:CELLS_FT]

    @property
    def roughness_uin(self) -> float:
        """Ra of the lane surface. [microinch]"""
        return self.surface.roughness_uin

    @property
    def tilt_in(self) -> float:
        """How much higher the left edge is. [in]"""
        return self.surface.tilt_in

    def volume_ml(self) -> float:
        """Oil on the lane, carried oil beyond the head pin included. [mL]"""
        return volume_ml(self.film)

    def mean_units(self, to_ft: float) -> float:
        """Mean film over all boards from the foul line to a distance (whole feet). [units]"""
        rows = round(to_ft)
        if not 1 <= rows <= CELLS_FT:
            raise InputError(f"mean_units: to_ft must be from 1 to {CELLS_FT}, got {to_ft!r}")
        return lane_total(self.film[:rows]) / (rows * BOARDS)

    def crosswise_ratio(self, distance_ft: float) -> tuple[float | None, float | None]:
        """Mean film of boards 18-22 over that of 33-37 (left) and of 3-7 (right), each side alone.

        None for a side whose outside boards are dry.  Trade glossary definition.
        """
        row = self.film[self._cell_row(distance_ft)]
        centre = ((row[17] + row[21]) + (row[18] + row[20]) + row[19]) / 5.0
        right = (row[2] + row[3] + row[4] + row[5] + row[6]) / 5.0
        left = (row[36] + row[35] + row[34] + row[33] + row[32]) / 5.0
        return (
            float(centre / left) if left > 0.0 else None,
            float(centre / right) if right > 0.0 else None,
        )

    def mirrored(self) -> "Lane":
        """The lane seen from the other side: boards flipped, tilt turned."""
        surface = replace(self.surface, tilt_in=0.0 - self.surface.tilt_in)
        return replace(
            self,
            film=np.ascontiguousarray(self.film[:, ::-1]),
            mix_index=np.ascontiguousarray(self.mix_index[:, ::-1]),
            surface=surface,
            _tables=self._tables,
        )

    def with_film(self, film: Array) -> "Lane":
        """The same lane with another total film (63, 39) [units]; the mixes stay."""
        if film.shape != (ROWS, BOARDS):
            raise InputError(f"film must be of shape {(ROWS, BOARDS)}, got {film.shape}")
        return replace(self, film=np.array(film, dtype=np.float64), _tables=self._tables)

    def friction_table(self, ball_roughness_uin: float, mu_dry: float) -> FrictionTable:
        """The tabulated friction law for a ball's cover on this lane; built once, then kept."""
        key = (float(ball_roughness_uin), float(mu_dry))
        if key not in self._tables:
            if not 0.0 < mu_dry <= FRICTION_MAX:
                raise InputError(f"mu_dry must be in (0, {FRICTION_MAX}], got {mu_dry!r}")
            self._tables[key] = build_table(
                self.mixtures,
                mu_dry=mu_dry,
                ball_roughness_uin=ball_roughness_uin,
                lane_roughness_uin=self.roughness_uin,
                temperature_c=self.temperature_c,
                constants=self.constants,
            )
        return self._tables[key]

    def friction(
        self,
        board: ArrayLike,
        distance_ft: ArrayLike,
        *,
        ball_roughness_uin: float,
        mu_dry: float,
        slip_mps: ArrayLike,
        speed_mps: ArrayLike = 8.0,
        rim_mps: ArrayLike = 0.0,
    ) -> Array:
        """Friction by the exact law at the film of the cell under a point, for maps and checks.

        Parameters
        ----------
        board : board coordinate, clipped to the lane
        distance_ft : 0 to the pit. [ft]
        slip_mps, speed_mps, rim_mps : slip, speed of the centre, rim speed along the travel. [m/s]
        """
        row, column, slip, speed, rim = np.broadcast_arrays(
            self._cell_row(distance_ft),
            np.clip(np.rint(np.asarray(board, dtype=np.float64)), 1, BOARDS).astype(np.int64) - 1,
            np.asarray(slip_mps, dtype=np.float64),
            np.asarray(speed_mps, dtype=np.float64),
            np.asarray(rim_mps, dtype=np.float64),
        )
        if self.fixed_mu is not None:
            edges, mu = self.fixed_mu
            where = np.asarray(distance_ft, dtype=np.float64)
            zone = np.searchsorted(edges, where, side="right") - 1
            return np.array(np.broadcast_to(mu[np.clip(zone, 0, len(mu) - 1)], row.shape))
        film = self.film[row, column] * UNIT_M
        mix = self.mix_index[row, column]
        out = np.empty(row.shape)
        for k, mixture in enumerate(self.mixtures):
            here = mix == k
            out[here] = friction(
                film[here],
                slip[here],
                speed_mps=speed[here],
                rim_mps=rim[here],
                mixture=mixture,
                mu_dry=mu_dry,
                ball_roughness_uin=ball_roughness_uin,
                lane_roughness_uin=self.roughness_uin,
                temperature_c=self.temperature_c,
                constants=self.constants,
            )
        return out

    @staticmethod
    def _cell_row(distance_ft: ArrayLike) -> NDArray[np.int64]:
        where = np.asarray(distance_ft, dtype=np.float64)
        if not ((where >= 0.0) & (where <= PIT_FT)).all():
            raise InputError(f"distance must be from 0 to {PIT_FT:g} ft")
        return np.minimum(np.floor(where).astype(np.int64), ROWS - 1)
