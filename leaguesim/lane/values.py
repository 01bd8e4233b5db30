"""What a lane is described by: conditioners, application bands, readings, surface.

Plain frozen values, already checked by the door that made them.  Does not compute anything.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Coarse:
    """A conditioner by word of mouth, against the one that ``than`` names; None where nothing is said."""

    than: str
    friction: str | None = None  # more, same, less
    kind: str | None = None  # plain, thickened
    wears: str | None = None  # longer, same, shorter


@dataclass(frozen=True)
class Doubt:
    """How well a conditioner's properties are known: standard deviations, log or logit scale.

    Defaults are for a product given in figures: viscosity as data sheets round and scatter, the rest
    assumed, because no data sheet gives it.  ``correlation`` is between viscosity and boundary film.
    """

    viscosity_log_sd: float = 0.05
    boundary_log_sd: float = 0.08
    base_share_logit_sd: float = 0.4
    rate_log_sd: float = 0.8
    left_behind_logit_sd: float = 0.25
    affinity_logit_sd: float = 0.4
    correlation: float = 0.0


@dataclass(frozen=True)
class LaneDoubt:
    """How well lanes, machine and friction constants are known; every figure assumed.

    Shares are standard deviations on the log scale: roughness of the lanes, the film that the machine
    lays against the figure on its display, and the friction constants c_a and C.
    """

    temperature_sd_c: float = 1.0
    roughness_log_sd: float = 0.20
    application_log_sd: float = 0.03
    c_a_log_sd: float = 0.12
    drag_c_log_sd: float = 0.25


@dataclass(frozen=True)
class LaneState:
    """How one lane of a center differs from the others.

    ``lane`` is its number, from 1.  ``roughness_uin``, ``tilt_in`` and ``residue_units`` None: as the
    center's surface.  ``film_factor`` is the film laid over the film asked for (application error).
    """

    lane: int
    roughness_uin: float | None = None
    tilt_in: float | None = None
    film_factor: float = 1.0
    residue_units: float | None = None


@dataclass(frozen=True)
class Conditioner:
    """A lane conditioner as its data sheet and its user know it.

    Viscosity is dynamic, at ``viscosity_at_c``; the temperature law is ASTM D341 through that point
    with ``viscosity_change_per_10f`` at it.  ``base_share`` and ``critical_rate_per_s`` are rho and
    rate_c of the Cross-type thinning law (1.0: a plain oil).  ``boundary_factor`` scales c_a, the
    film at which asperities lose touch.  ``left_behind`` is the share of the film under a passing
    ball that stays on the lane (durability) and ``ball_affinity`` the share of the rest that the
    ball keeps instead of laying it down again.
    """

    name: str
    viscosity_mpas: float = 35.0
    viscosity_at_c: float = 21.1
    viscosity_change_per_10f: float = -0.22
    density_g_per_ml: float = 0.85
    base_share: float = 1.0
    critical_rate_per_s: float = 1.0e6
    boundary_factor: float = 1.0
    left_behind: float = 0.65
    ball_affinity: float = 0.5
    price_per_litre: float | None = None
    note: str = ""
    coarse: Coarse | None = None
    doubt: Doubt = field(default_factory=Doubt)


@dataclass(frozen=True)
class Band:
    """One application band: a rectangle of lane, its millilitres and the shares by conditioner.

    Boards are whole-board inclusive: from 10 to 30 covers the lane from edge 9.5 to edge 30.5.
    """

    from_ft: float
    to_ft: float
    from_board: float
    to_board: float
    volume_ml: float
    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Readings:
    """Measured film: one triple a point, and what the oil is made of."""

    distance_ft: tuple[float, ...]
    board: tuple[float, ...]
    units: tuple[float, ...]
    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class FilmReading:
    """Film at one point of a lane before and after ``games`` games were bowled on that lane. [units]"""

    condition: str
    distance_ft: float
    board: float
    games: int
    before_units: float
    after_units: float


@dataclass(frozen=True)
class EarlierPlay:
    """Play on the lane between oiling and the league: games per lane, and which styles bowled them."""

    games_per_lane: int
    styles: tuple[tuple[str, float], ...]  # (style, share), shares add up to 1


@dataclass(frozen=True)
class Condition:
    """A lane condition: bands or readings, laid on a clean lane, with any play that came before."""

    name: str
    title: str = ""
    bands: tuple[Band, ...] = ()
    readings: Readings | None = None
    after: EarlierPlay | None = None


@dataclass(frozen=True)
class Surface:
    """The lane's own surface.

    ``roughness_uin`` is Ra; ``tilt_in`` how much higher the left edge is; ``residue_units`` the oil
    that cleaning leaves evenly on the whole lane, under the fresh oil. [units]
    """

    name: str = "synthetic"
    roughness_uin: float = 15.0
    tilt_in: float = 0.0
    note: str = ""
    residue_units: float = 0.0


@dataclass(frozen=True)
class FrictionConstants:
    """Constants of the friction law that belong to no product; see ``lane.friction``.

    ``c_a`` and ``drag_c`` are fitted to path facts (``outside/calibration.toml``), the rest assumed.
    The other load sharing has its own fit: use ``CONTACT_CONSTANTS``, not the switch alone.
    """

    c_a: float = 1.2
    drag_c: float = 1.7
    h_f0_m: float = 8.0e-6
    pressure_pa: float = 7.2e6
    load_sharing: str = field(default="supply")


CONTACT_CONSTANTS = FrictionConstants(c_a=1.25, drag_c=1.8, load_sharing="contact")
