"""Ball and ten pins as rigid bodies on a deck with edges, gutters, kickbacks and a pit cushion.

Needs the extra ``pins``.  Does not bend, break or warm anything; pins are regulation shapes with
their own mass, centre of gravity, spot, friction and liveliness, the machine is not modelled.

Contacts are stiff springs of a set duration; damping sets the restitution, which ``rigid_checks``
measures.  A body whose centre passes the deck's edge loses the deck under it.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError, LeaguesimError
from leaguesim.pins import spec
from leaguesim.pins.planar import rack_checked
from leaguesim.units import (
    BALL_DIAMETER_IN,
    BOARD_M,
    DEG_RAD,
    G_MPS2,
    HEAD_PIN_TO_PIT_IN,
    IN_M,
    LANE_WIDTH_IN,
    LB_KG,
)

BALL_RADIUS_M: Final = 0.5 * BALL_DIAMETER_IN * IN_M
BALL_RG_M: Final = 2.52 * IN_M  # a common radius of gyration; range 2.46-2.80 in (GB)
EDGE_M: Final = 0.5 * LANE_WIDTH_IN * IN_M
WALL_M: Final = EDGE_M + 9.25 * IN_M  # gutter 9-9.25 in (GB)
PIT_M: Final = HEAD_PIN_TO_PIT_IN * IN_M
CUSHION_M: Final = PIT_M + 0.75  # common practice, no source
MODEL_VERSION: Final = 1  # raise it when the model changes otherwise than by its settings
HAIR_M: Final = 2e-5
START_M: Final = -0.22
DOWN_TILT: Final = float(np.cos(25.0 * DEG_RAD))

# Convex pieces of the pin: kind, centre height, half-height, radius. [in]
PIECES: Final = (
    ("cylinder", 0.15, 0.15, 1.0155),
    ("ellipsoid", 4.52, 4.38, 2.383),
    ("capsule", 9.90, 1.50, 0.915),
    ("ellipsoid", 13.05, 1.95, 1.272),
)


@dataclass(frozen=True)
class RigidSettings:
    """Global physical parameters; none is set shot by shot or leave by leave.

    Restitutions are what a one-dimensional collision shows; ``*_sd`` is the spread from pin to pin
    (relative for friction). ``contact_s`` is the length of a hard contact. [s, m, kg, in]
    """

    restitution_ball: float = 0.72
    restitution_pin: float = 0.72
    restitution_deck: float = 0.45
    restitution_kickback: float = 0.50
    restitution_cushion: float = 0.18
    friction_ball: float = 0.15
    friction_pin: float = 0.15
    friction_deck: float = 0.30
    friction_kickback: float = 0.35
    spotting_sd_m: float = 0.0020
    mass_sd_kg: float = 0.012
    cg_sd_in: float = 0.06
    friction_sd: float = 0.30
    restitution_sd: float = 0.02
    contact_s: float = 0.0018
    step_s: float = 0.0003
    late_factor: float = 3.5
    late_after_s: float = 0.32
    longest_s: float = 2.2


@dataclass(frozen=True)
class RigidShot:
    """What one simulated shot left behind.

    ``down`` mask of fallen pins; ``moved_m`` (10,) displacement of the standing ones (0 if down);
    ``exit_board`` where the ball's centre left the deck's end, board from the right edge, NaN if
    it did not; ``time_s`` simulated.
    """

    down: int
    moved_m: NDArray[np.float64]
    exit_board: float
    time_s: float


@lru_cache(maxsize=4096)
def damping_ratio(restitution: float) -> float:
    """Damping ratio of the contact spring that gives a restitution.

    The inverse of ``spring_restitution`` by bisection; below 0.16 it stays at 0.95.
    """
    low, high = 1e-6, 0.95
    for _ in range(60):
        middle = 0.5 * (low + high)
        if spring_restitution(middle) > restitution:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def spring_restitution(ratio: float) -> float:
    """Restitution of a unilateral damped spring: exp(-z w t), t the first time its force is zero.

    x'' = -2 z x' - x, x(0) = 0, x'(0) = 1; force zero when tan(s t) = 2 z s / (2 z^2 - 1), s^2 = 1 - z^2.
    """
    s = np.sqrt(1.0 - ratio * ratio)
    t = np.arctan2(2.0 * ratio * s, 2.0 * ratio * ratio - 1.0) / s
    return float(np.exp(-ratio * t))


def solref(contact_s: float, restitution: float) -> tuple[float, float]:
    """The engine's direct spring format (-stiffness, -damping) per unit effective mass."""
    ratio = damping_ratio(restitution)
    omega = np.pi / contact_s
    return -float(omega * omega), -float(2.0 * ratio * omega)


def model_xml(step_s: float) -> str:
    """The scene: four planes, a ball, ten pins made of smooth convex pieces."""
    props = spec.mass_properties()
    axial = spec.PIN_MASS_KG * (props.axial_gyration_in * IN_M) ** 2
    across = spec.PIN_MASS_KG * (props.transverse_gyration_in * IN_M) ** 2
    pins = "".join(_pin_xml(i, props.cg_in, across, axial) for i in range(10))
    return f"""
<mujoco><option timestep="{step_s}" gravity="0 0 {-G_MPS2}" cone="elliptic" impratio="3"
  ccd_tolerance="1e-9" ccd_iterations="60" iterations="30" tolerance="1e-9" solver="Newton"/>
<compiler angle="radian"/>
<size memory="8M"/>
<default><geom solimp="0.98 0.98 0.001" condim="3"/></default>
<worldbody>
<geom name="deck" type="plane" size="3 3 .1" contype="0" conaffinity="2" priority="1"/>
<geom name="left" type="plane" size="3 3 .1" pos="0 {WALL_M} 0" zaxis="0 -1 0"
 contype="0" conaffinity="4" priority="3"/>
<geom name="right" type="plane" size="3 3 .1" pos="0 {-WALL_M} 0" zaxis="0 1 0"
 contype="0" conaffinity="4" priority="3"/>
<geom name="cushion" type="plane" size="3 3 .1" pos="{CUSHION_M} 0 0" zaxis="-1 0 0"
 contype="0" conaffinity="4" priority="3"/>
<body name="ball" pos="-1 0 {BALL_RADIUS_M}"><freejoint/>
<inertial pos="0 0 0" mass="6.8" diaginertia="{6.8 * BALL_RG_M**2} {6.8 * BALL_RG_M**2} {6.8 * BALL_RG_M**2}"/>
<geom name="ball" type="sphere" size="{BALL_RADIUS_M}" contype="7" conaffinity="1" priority="2"/></body>
{pins}
</worldbody></mujoco>"""


def _pin_xml(i: int, cg_in: float, across: float, axial: float) -> str:
    geoms = []
    for n, (kind, height, half, radius) in enumerate(PIECES):
        at = height * IN_M
        r, h = radius * IN_M, half * IN_M
        size = f"{r} {r} {h}" if kind == "ellipsoid" else f"{r} {h}"
        bits = (2, 0) if n == 0 else (7, 1)
        geoms.append(
            f'<geom name="p{i}_{n}" type="{kind}" size="{size}" pos="0 0 {at}" '
            f'contype="{bits[0]}" conaffinity="{bits[1]}"/>'
        )
    x, y = spec.SPOTS_M[i]
    return (
        f'<body name="p{i}" pos="{x} {y} 0" gravcomp="1"><freejoint/><inertial pos="0 0 {cg_in * IN_M}" '
        f'mass="{spec.PIN_MASS_KG}" diaginertia="{across} {across} {axial}"/>{"".join(geoms)}</body>'
    )


class RigidDeck:
    """A deck ready to take shots; holds the engine's model and state (one per process)."""

    def __init__(self, settings: RigidSettings | None = None) -> None:
        try:
            import mujoco
        except ImportError as fault:
            raise LeaguesimError("the rigid model needs the extra 'pins' (mujoco)") from fault
        self.engine: Any = mujoco
        self.settings = settings or RigidSettings()
        self.model = mujoco.MjModel.from_xml_string(model_xml(self.settings.step_s))
        self.model.opt.disableflags |= int(mujoco.mjtDisableBit.mjDSBL_MULTICCD)
        self.data = mujoco.MjData(self.model)
        per = len(PIECES)
        self.pin_geoms = np.arange(5, 5 + 10 * per).reshape(10, per)
        self.bits = self.model.geom_contype[self.pin_geoms[0]].copy()
        self.kin = self.model.geom_conaffinity[self.pin_geoms[0]].copy()

    def vary(self, rng: np.random.Generator) -> None:
        """Draw this rack's pins: mass, centre of gravity, friction, liveliness."""
        s, m = self.settings, self.model
        props = spec.mass_properties_cached()
        low, high = np.array(spec.PIN_MASS_LB_RANGE) * LB_KG
        mass = np.clip(spec.PIN_MASS_KG + s.mass_sd_kg * rng.standard_normal(10), low, high)
        cg = np.clip(props.cg_in + s.cg_sd_in * rng.standard_normal(10), *spec.PIN_CG_IN_RANGE)
        slick = s.friction_pin * np.exp(s.friction_sd * rng.standard_normal(10))
        lively = np.clip(s.restitution_pin + s.restitution_sd * rng.standard_normal(10), 0.5, 0.85)
        lively = np.rint(lively * 500.0) / 500.0
        m.body_mass[2:12] = mass
        m.body_ipos[2:12, 2] = cg * IN_M
        m.body_inertia[2:12, :2] = mass[:, None] * (props.transverse_gyration_in * IN_M) ** 2
        m.body_inertia[2:12, 2] = mass * (props.axial_gyration_in * IN_M) ** 2
        m.geom_friction[self.pin_geoms, 0] = slick[:, None]
        self.lively = lively
        self._springs(1.0)

    def _springs(self, stretch: float) -> None:
        """Set every contact's spring for a contact ``stretch`` times the shortest."""
        s, m = self.settings, self.model
        t = s.contact_s * stretch
        for i in range(10):
            m.geom_solref[self.pin_geoms[i]] = solref(t, self.lively[i])
        for g, e, mu in (
            (0, s.restitution_deck, s.friction_deck),
            (1, s.restitution_kickback, s.friction_kickback),
            (2, s.restitution_kickback, s.friction_kickback),
            (3, s.restitution_cushion, s.friction_kickback),
            (4, s.restitution_ball, s.friction_ball),
        ):
            m.geom_solref[g] = solref(t, e)
            m.geom_friction[g, 0] = mu
        m.opt.timestep = s.step_s * stretch

    def _place(
        self, offset: float, entry: float, speed: float, ball_kg: float, slip: float, rack: int,
        rng: np.random.Generator,
    ) -> NDArray[np.float64]:  # fmt: skip
        """Put ball and pins at their start; returns the pins' (10, 2) places."""
        m, d, s = self.model, self.data, self.settings
        self.engine.mj_resetData(m, d)
        m.body_mass[1] = ball_kg
        m.body_inertia[1] = ball_kg * BALL_RG_M**2
        places = spec.SPOTS_M + s.spotting_sd_m * rng.standard_normal((10, 2))
        q = d.qpos.reshape(11, 7)
        v = d.qvel.reshape(11, 6)
        q[:, 3] = 1.0
        q[0, :3] = START_M, -offset + START_M * np.tan(entry), BALL_RADIUS_M
        ux, uy = speed * np.cos(entry), speed * np.sin(entry)
        v[0, :3] = ux, uy, 0.0
        v[0, 3:] = -(uy + slip) / BALL_RADIUS_M, ux / BALL_RADIUS_M, 0.0
        q[1:, :2] = places
        q[1:, 2] = HAIR_M
        # Untouched pins hang weightless a hair above the deck: no contact to solve until one is hit.
        m.geom_contype[self.pin_geoms] = self.bits
        m.body_gravcomp[2:12] = 1.0
        m.geom_conaffinity[self.pin_geoms] = self.kin
        m.geom_contype[4], m.geom_conaffinity[4] = 7, 1
        for i in range(10):
            if not rack >> i & 1:
                self._remove(i, parked=True)
        return places

    def _remove(self, i: int, parked: bool = False) -> None:
        """Take pin ``i`` (0-9) out of every contact."""
        self.model.geom_contype[self.pin_geoms[i]] = 0
        self.model.geom_conaffinity[self.pin_geoms[i]] = 0
        if parked:
            self.data.qpos[7 * (i + 1) : 7 * (i + 1) + 3] = 3.0 + i, 5.0, -2.0

    def shoot(
        self,
        offset_boards: float,
        entry_deg: float,
        speed_mps: float,
        ball_kg: float,
        rng: np.random.Generator,
        *,
        rack: int = spec.FULL_RACK,
        slip_mps: float = 0.0,
    ) -> RigidShot:
        """One shot at the standing pins of ``rack``, the ball rolling with a sideways rim slip.

        ``slip_mps``: sideways slip of the ball's contact point, positive drives it to the left.
        """
        if not (speed_mps > 0.0 and ball_kg > 0.0):
            raise InputError("speed_mps, ball_kg: both must be above 0")
        rack = rack_checked(rack)
        s, d = self.settings, self.data
        self.vary(rng)
        places = self._place(
            offset_boards * BOARD_M, entry_deg * DEG_RAD, speed_mps, ball_kg, slip_mps, rack, rng
        )
        if abs(offset_boards * BOARD_M) > EDGE_M:
            return RigidShot(0, np.zeros(10), float("nan"), 0.0)
        self.gone = ~(np.array([rack >> i & 1 for i in range(10)], bool))
        self.fallen = np.zeros(10, bool)
        self.over = np.zeros(11, bool)
        self.touched = np.zeros(10, bool)
        self.ball_gone, self.exit_board = False, float("nan")
        late, looks = False, 0
        limit = s.longest_s + max(0.0, 1.2 / speed_mps - 0.2)
        late_after = s.late_after_s * max(1.0, 7.0 / speed_mps)
        while d.time < limit:
            self.engine.mj_step(self.model, d, 12 if late else 24)
            self._edges()
            looks += 1
            if not late and d.time > late_after:
                late = True
                self._springs(s.late_factor)
            if looks % 2 == 0 and self._settled(late):
                break
        return self._outcome(rack, places)

    def _edges(self) -> None:
        """Take the deck from under bodies past its edge; drop what lies in gutter or pit."""
        q = self.data.qpos.reshape(11, 7)
        m = self.model
        at = q[:, :3].copy()
        tilt = 1.0 - 2.0 * (q[1:, 4] ** 2 + q[1:, 5] ** 2)
        cg = m.body_ipos[2:12, 2]
        # Centre of gravity: base point plus the axis times the height.
        w, x, y, z = q[1:, 3], q[1:, 4], q[1:, 5], q[1:, 6]
        at[1:, 0] += 2.0 * (x * z + w * y) * cg
        at[1:, 1] += 2.0 * (y * z - w * x) * cg
        at[1:, 2] += tilt * cg
        off = (np.abs(at[:, 1]) > EDGE_M) | (at[:, 0] > PIT_M)
        if not self.touched.all():
            self._wake()
        for body in np.flatnonzero(~self.gone & (off[1:] != self.over[1:])):
            i = int(body)
            if off[i + 1] or self._lowest(i, tilt[i]) > -0.001:
                self.over[i + 1] = off[i + 1]
                kind = self.bits & ~2 if off[i + 1] else self.bits
                m.geom_contype[self.pin_geoms[i]] = kind
        for sunk in np.flatnonzero(~self.gone & self.over[1:] & (at[1:, 2] < -0.03)):
            self.gone[sunk] = True
            self.fallen[sunk] = True
            self._remove(int(sunk))
        self.tilt, self.cg_at = tilt, at
        self.fallen |= ~self.gone & (tilt < DOWN_TILT)
        if not self.ball_gone and off[0]:
            if np.isnan(self.exit_board) and abs(at[0, 1]) <= EDGE_M:
                self.exit_board = float(20.0 + at[0, 1] / BOARD_M)
            self.over[0] = True
            m.geom_contype[4] = 5
            if at[0, 2] < 0.02 or at[0, 0] > PIT_M + 0.2 or abs(at[0, 1]) > EDGE_M:
                self.ball_gone = True
                m.geom_contype[4] = m.geom_conaffinity[4] = 0

    def _wake(self) -> None:
        """Give their weight to pins that something has touched since the last look."""
        speed = np.abs(self.data.qvel.reshape(11, 6)[1:]).max(1)
        for i in np.flatnonzero(~self.touched & ~self.gone & (speed > 1e-9)):
            self.touched[i] = True
            self.model.body_gravcomp[i + 2] = 0.0

    def _lowest(self, i: int, tilt: float) -> float:
        """Height of the lowest point of pin ``i``, from its pieces."""
        z = float(self.data.qpos[7 * (i + 1) + 2])
        across = np.sqrt(max(0.0, 1.0 - tilt * tilt))
        parts = [
            z + h * IN_M * tilt - IN_M * np.hypot(r * across, half * tilt)
            for _, h, half, r in PIECES
        ]
        return float(min(parts))

    def _settled(self, late: bool) -> bool:
        """Whether nothing can fall any more: all down, or all that is left on the deck is at rest."""
        standing = ~self.gone & ~self.fallen
        if not standing.any():
            return True
        if not (self.ball_gone or late):
            return False
        v = self.data.qvel.reshape(11, 6)
        if (standing & self.touched & ~self._safe(v)).any():
            return False
        if not self.ball_gone and self.cg_at[0, 0] < PIT_M:
            return False
        moving = ~self.gone & self.fallen & (np.abs(v[1:, :2]).max(1) > 0.12)
        if not moving.any():
            return True
        return not self._can_reach(np.flatnonzero(moving), np.flatnonzero(standing), v)

    def _safe(self, v: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Pins whose energy is too small to carry them over the rim of their base.

        Energy never rises, so unless something hits it such a pin will stand (it may rock on).
        """
        m = self.model
        cg = m.body_ipos[2:12, 2]
        height = self.cg_at[1:, 2]
        spin = 0.5 * (m.body_inertia[2:12] * v[1:, 3:] ** 2).sum(1) / m.body_mass[2:12]
        sway = v[1:, :3].copy()
        sway[:, :2] += cg[:, None] * np.abs(v[1:, 3:5][:, ::-1]) * np.sign(sway[:, :2])
        moving = 0.5 * (sway**2).sum(1)
        barrier = G_MPS2 * (np.hypot(cg, spec.BASE_RADIUS_M) - cg)
        return np.asarray(G_MPS2 * (height - cg) + spin + moving < barrier)

    def _can_reach(
        self, movers: NDArray[np.int64], targets: NDArray[np.int64], v: NDArray[np.float64]
    ) -> bool:
        """Whether some sliding or flying pin heads for a standing one, or for a wall."""
        for i in movers:
            p, u = self.cg_at[i + 1, :2], v[i + 1, :2]
            size = float(np.hypot(*u))
            for j in targets:
                r = self.cg_at[j + 1, :2] - p
                distance = float(np.hypot(*r))
                if distance < 0.45 or float(r @ u) / (distance * size) > 0.6:
                    return True
            if abs(u[1]) > 0.8 and abs(p[1]) < WALL_M:
                return True
        return False

    def _outcome(self, rack: int, places: NDArray[np.float64]) -> RigidShot:
        """Count what fell; a pin stands if it is upright and on the deck."""
        down = 0
        moved = np.zeros(10)
        base = self.data.qpos.reshape(11, 7)[1:, :2]
        for i in range(10):
            if not rack >> i & 1:
                continue
            if self.gone[i] or self.fallen[i]:
                down |= 1 << i
            else:
                moved[i] = float(np.hypot(*(base[i] - places[i])))
        return RigidShot(down, moved, self.exit_board, float(self.data.time))
