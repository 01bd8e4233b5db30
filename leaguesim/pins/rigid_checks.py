"""Measurements on the rigid model itself: restitution, contact normals, energy, step convergence.

Does not judge the carry library; ``checks`` does.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leaguesim.pins.rigid import BALL_RADIUS_M, RigidDeck, RigidSettings
from leaguesim.pins.spec import BELLY_RADIUS_M
from leaguesim.units import G_MPS2, IN_M


@dataclass(frozen=True)
class Impact:
    """One collision in free space: restitution of the contact points, largest normal error."""

    restitution: float
    normal_error_deg: float
    closing_mps: float


def _alone(deck: RigidDeck, movers: tuple[int, ...]) -> None:
    """No gravity, no planes, nothing but the given bodies (0 = ball, 1-10 = pins)."""
    deck.lively = np.full(10, deck.settings.restitution_pin)
    deck._springs(1.0)
    m = deck.model
    m.opt.gravity[2] = 0.0
    deck.engine.mj_resetData(m, deck.data)
    m.geom_contype[:] = 0
    m.geom_conaffinity[:] = 0
    q = deck.data.qpos.reshape(11, 7)
    q[:, 0] = 20.0 + np.arange(11)
    for body in movers:
        geoms = [4] if body == 0 else deck.pin_geoms[body - 1][1:]
        m.geom_contype[geoms] = m.geom_conaffinity[geoms] = 1


def impact(
    settings: RigidSettings, *, ball: bool, closing_mps: float = 7.0, miss_m: float = 0.0
) -> Impact:
    """Ball on pin (``ball``) or pin on pin, both upright, ``miss_m`` beside the line of centres.

    Restitution is the relative normal speed of the two contact points, after over before; its
    normal is the line of axes, against which the engine's own contact normals are compared in plan.
    """
    deck = RigidDeck(settings)
    first, second = (0, 1) if ball else (1, 2)
    _alone(deck, (first, second))
    d, m = deck.data, deck.model
    q, v = d.qpos.reshape(11, 7), d.qvel.reshape(11, 6)
    reach = BELLY_RADIUS_M + (BALL_RADIUS_M if ball else BELLY_RADIUS_M)
    along = np.sqrt(reach**2 - miss_m**2)
    q[first, :3] = -along - 0.01, -miss_m, (BALL_RADIUS_M if ball else 0.0)
    q[second, :3] = 0.0, 0.0, 0.0
    v[first, 0] = closing_mps
    height = 4.52 * IN_M if not ball else BALL_RADIUS_M
    normal = np.array([along, miss_m, 0.0]) / reach
    before = _closing(v, first, second, normal, height)
    worst = 0.0
    touched = False
    for _ in range(2000):
        between = q[second, :2] - q[first, :2]
        deck.engine.mj_step(m, d)
        if d.ncon:
            touched = True
            for c in d.contact[: d.ncon]:
                flat = np.array(c.frame[:3])
                size = float(np.linalg.norm(flat[:2]) * np.linalg.norm(between))
                cosine = abs(float(flat[:2] @ between)) / size
                worst = max(worst, float(np.degrees(np.arccos(min(1.0, cosine)))))
        elif touched:
            break
    return Impact(-_closing(v, first, second, normal, height) / before, worst, closing_mps)


def _closing(
    v: NDArray[np.float64], first: int, second: int, normal: NDArray[np.float64], height: float
) -> float:
    """Approach speed along the normal of two bodies' contact points at a height."""
    total = 0.0
    for body, sign in ((first, 1.0), (second, -1.0)):
        origin = BALL_RADIUS_M if body == 0 else 0.0
        lever = np.array([0.0, 0.0, height - origin])
        point = v[body, :3] + np.cross(v[body, 3:], lever)
        total += sign * float(point @ normal)
    return total


def energy(deck: RigidDeck) -> float:
    """Kinetic and potential energy of everything on the deck. [J]"""
    m, d = deck.model, deck.data
    q, v = d.qpos.reshape(11, 7), d.qvel.reshape(11, 6)
    total = 0.0
    for i in range(11):
        mass, inertia = m.body_mass[i + 1], m.body_inertia[i + 1]
        arm = np.array([0.0, 0.0, m.body_ipos[i + 1, 2]])
        centre = v[i, :3] + deck.data.xmat[i + 1].reshape(3, 3) @ np.cross(v[i, 3:], arm)
        total += 0.5 * mass * float(centre @ centre) + 0.5 * float(inertia @ v[i, 3:] ** 2)
        height = q[i, 2] + (d.xmat[i + 1].reshape(3, 3) @ arm)[2]
        total += mass * G_MPS2 * float(height)
    return total


def energy_rise(settings: RigidSettings, rng: np.random.Generator, offset: float = 2.0) -> float:
    """Largest rise of the energy over its lowest value so far, in the first 0.25 s, relative.

    A loaded contact stores energy, so samples are taken 1 ms apart and a rise is measured against
    the value 3 ms before.
    """
    deck = RigidDeck(settings)
    deck.vary(rng)
    deck._place(offset * 0.027, 0.09, 7.5, 6.8, 0.0, 1023, rng)
    deck.model.body_gravcomp[2:12] = 0.0
    deck.engine.mj_forward(deck.model, deck.data)
    start = energy(deck)
    track = []
    for _ in range(250):
        deck.engine.mj_step(deck.model, deck.data, round(0.001 / settings.step_s))
        track.append(energy(deck))
    past = np.array(track)
    peak = np.array([past[max(0, i - 2) : i + 1].max() for i in range(len(past))])
    return float(np.max(peak[3:] - np.minimum.accumulate(peak)[:-3]) / start)


def step_convergence(settings: RigidSettings, shots: int, seed: int) -> tuple[float, float, float]:
    """Mean pins of the same racks over the pocket at the step and at half of it, and the gap's error.

    Single shots part ways whatever the step (the deck is chaotic), so only means are compared.
    """
    pins = []
    for chosen in (settings, replace(settings, step_s=settings.step_s / 2.0)):
        deck = RigidDeck(chosen)
        down = []
        for k in range(shots):
            rng = np.random.default_rng([seed, k])
            offset, entry = rng.uniform(0.3, 4.5), rng.uniform(1.0, 7.0)
            down.append(deck.shoot(offset, entry, 7.5, 6.8, rng).down.bit_count())
        pins.append(np.array(down, float))
    gap = pins[0] - pins[1]
    return float(pins[0].mean()), float(pins[1].mean()), float(gap.std() / shots**0.5)
