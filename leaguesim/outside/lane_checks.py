"""Lane, oil, viscosity and friction against their outside figures, as rows of the validation table.

Nothing here rolls a ball; friction along paths is checked with the ball.
"""

import math
from typing import Any

from leaguesim.lane.film import volume_ml
from leaguesim.lane.friction import contact_film_m, drag_share, entrainment_factor
from leaguesim.lane.lane import Lane
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import Band, Condition, Conditioner, FrictionConstants
from leaguesim.lane.viscosity import (
    TEN_F_K,
    blend_double_log,
    blend_logarithmic,
    blend_refutas,
    law_from_two_points,
)
from leaguesim.outside.check import Check, near, verdict
from leaguesim.outside.figures import figures
from leaguesim.units import (
    BALL_DIAMETER_IN,
    BOARD_M,
    BOARDS,
    CENTRE_BOARD,
    G_MPS2,
    HEAD_PIN_TO_PIT_IN,
    IN_M,
    LANE_LENGTH_FT,
    LANE_WIDTH_IN,
    LB_KG,
    PIN_ROW_M,
    PIN_SPACING_M,
    UNIT_M,
    UNIT_ML_PER_CELL,
)

_PURE = (("plain", 1.0),)


def lane_checks() -> list[Check]:
    """All outside checks of the lane, in order: dimensions, unit, film, ratio, viscosity, drag."""
    data = figures("lane")
    return [
        *_dimension_checks(data["dimensions"], data["pin_boards"]),
        *_unit_checks(data["unit"]),
        *_film_checks(data),
        *_ratio_checks(data["crosswise"]),
        *_viscosity_checks(data),
        *_contact_checks(data),
    ]


def _lane(volume: float, length: float, first: float = 1, last: float = 39) -> Lane:
    band = Band(0.0, length, first, last, volume, _PURE)
    return Lane.from_condition(Condition("check", bands=(band,)), [Conditioner("plain")])


def _dimension_checks(size: dict[str, Any], pins: dict[str, Any]) -> list[Check]:
    source = size["source"]
    board_in = BOARD_M / IN_M
    spacing = PIN_SPACING_M / IN_M / board_in
    row_of_three = CENTRE_BOARD - 0.5 * spacing
    corner, left = CENTRE_BOARD - 1.5 * spacing, CENTRE_BOARD + 1.5 * spacing
    return [
        near("lane: length", source, size["length_ft"], LANE_LENGTH_FT, 0.0, "ft"),
        near("lane: width", source, size["width_in"], LANE_WIDTH_IN, 0.0, "in"),
        near("lane: boards", source, size["boards"], BOARDS, 0.0),
        near(
            "lane: corner pin from the lane's edge",
            source,
            size["corner_pin_from_edge_in"],
            (corner - 0.5) * board_in,
            0.005,
            "in",
        ),
        near("lane: board of the 10 pin", pins["source"], pins["corner_right"], corner, 0.005),
        near("lane: board of the 7 pin", pins["source"], pins["corner_left"], left, 0.005),
        near("lane: rows of pins apart", source, size["pin_row_in"], PIN_ROW_M / IN_M, 0.0, "in"),
        near(
            "lane: head pin to the pit",
            source,
            size["head_pin_to_pit_in"],
            HEAD_PIN_TO_PIT_IN,
            0.0,
            "in",
        ),
        near("lane: board of the 3 pin", pins["source"], pins["three_pin"], row_of_three, 0.005),
    ]


def _unit_checks(unit: dict[str, Any]) -> list[Check]:
    source = unit["source"]
    return [
        near("oil: one unit", source, unit["thickness_um"], UNIT_M * 1e6, 5e-5, "um"),
        near(
            "oil: one unit on one board over one foot",
            source,
            unit["board_foot_ul"],
            UNIT_ML_PER_CELL * 1e3,
            5e-4,
            "uL",
        ),
    ]


def _film_checks(data: dict[str, Any]) -> list[Check]:
    checks = []
    for row in (data["mean_film"], *data["events"]):
        length, volume = row["length_ft"], row["volume_ml"]
        lane = _lane(volume, length)
        checks.append(
            near(
                f"oil: mean film of {volume:g} mL over {length:g} ft",
                row["source"],
                row["mean_units"],
                lane.mean_units(length),
                0.006,
                "units",
            )
        )
    bands = (
        Band(0.0, 40.25, 2, 38, 6.0, _PURE),
        Band(1.5, 36.2, 7.5, 31, 11.0, _PURE),
        Band(0.0, 22.0, 12, 28, 8.0, _PURE),
    )
    lane = Lane.from_condition(Condition("check", bands=bands), [Conditioner("plain")])
    total = sum(b.volume_ml for b in bands)
    off = abs(volume_ml(lane.film) / total - 1.0)
    checks.append(
        Check(
            "oil: integral of the film returns the millilitres entered",
            "conservation of volume, exact",
            f"{total:g} mL to 0.1 %",
            f"off by {off:.1e} of it",
            verdict(off <= 1e-9),
        )
    )
    return checks


def _ratio_checks(ratio: dict[str, Any]) -> list[Check]:
    checks = []
    for name, expected in (
        ("house", ratio["test_pair_house"]),
        ("sport", ratio["test_pair_sport"]),
    ):
        length = ratio["test_pair_length_ft"]
        # Flat outside at one level, inside boards 10 to 30 at `expected` times it.
        low, high = 12.0, 12.0 * (expected - 1.0) * 21.0 / 39.0
        bands = (Band(0, length, 1, 39, low, _PURE), Band(0, length, 10, 30, high, _PURE))
        lane = Lane.from_condition(Condition("check", bands=bands), [Conditioner("plain")])
        left, right = lane.crosswise_ratio(0.5 * length)
        checks.append(
            Check(
                f"oil: crosswise ratio of a {name} film built at {expected:g}:1",
                ratio["source"],
                f"{expected:g} on both sides",
                f"{left:.6g} left, {right:.6g} right" if left and right else "undefined",
                verdict(
                    left is not None
                    and right is not None
                    and abs(left - expected) < 1e-9
                    and abs(right - expected) < 1e-9
                ),
            )
        )
    dry = _lane(10.0, 40.0, 8, 39).crosswise_ratio(20.0)
    checks.append(
        Check(
            "oil: crosswise ratio where the right outside is dry",
            ratio["source"],
            "undefined right, a number left",
            f"{'undefined' if dry[1] is None else dry[1]} right, {dry[0]} left",
            verdict(dry[1] is None and dry[0] is not None),
        )
    )
    return checks


def _viscosity_checks(data: dict[str, Any]) -> list[Check]:
    w = data["walther"]
    law = law_from_two_points(
        40.0, w["at_40c_mm2ps"], 100.0, w["at_100c_mm2ps"], kelvin_at_0c=w["kelvin_at_0c"]
    )
    name = "viscosity: ASTM D341 example, "
    checks = [
        near(name + "constant A", w["source"], w["a"], law.a, 1e-4),
        near(name + "constant B", w["source"], w["b"], law.b, 5e-5),
        near(
            name + "80 C", w["source"], w["at_80c_mm2ps"], law.kinematic_mm2ps(80.0), 0.005, "mm2/s"
        ),
    ]
    b = data["blend"]
    parts = list(zip(b["shares"], b["mm2ps"], strict=True))
    for key, rule in (
        ("logarithmic", blend_logarithmic),
        ("refutas", blend_refutas),
        ("double_log", blend_double_log),
    ):
        title = f"viscosity: blend of three, {key.replace('_', ' ')} rule"
        checks.append(near(title, b["source"], b[key], rule(parts), 0.006, "mm2/s"))
    half = data["blend_halves"]
    mixed = blend_double_log([(0.5, nu) for nu in half["mm2ps"]])
    checks.append(
        near(
            "viscosity: 20 and 60 half and half",
            half["source"],
            half["double_log"],
            mixed,
            0.005,
            "mm2/s",
        )
    )
    return [*checks, _change_check(data)]


def _change_check(data: dict[str, Any]) -> Check:
    """The D2270 example oils that are as thin as a conditioner, through D341, near lane temperature."""
    band, limits = data["viscosity_change"], data["conditioner"]
    density = data["density"]["g_per_ml"]
    lane_c = (limits["viscosity_at_f"] - 32.0) / 1.8
    got = []
    for oil in data["viscosity_index"]:
        law = law_from_two_points(40.0, oil["at_40c_mm2ps"], 100.0, oil["at_100c_mm2ps"])
        here = law.kinematic_mm2ps(lane_c)
        thin = limits["viscosity_min_mpas"] <= here * density <= limits["viscosity_max_mpas"]
        if thin:
            got.append(law.kinematic_mm2ps(lane_c + TEN_F_K) / here - 1.0)
    low, high = band["per_10f_low"], band["per_10f_high"]
    return Check(
        "viscosity: change over +10 F from 70 F, ASTM D2270 example oil within conditioner limits",
        f"{band['source']}; oil: {data['viscosity_index'][0]['source']}",
        f"{low:.0%} to {high:.0%}",
        ", ".join(f"{g:.1%}" for g in got) or "no oil within the limits",
        verdict(bool(got) and all(low <= g <= high for g in got)),
    )


def _contact_checks(data: dict[str, Any]) -> list[Check]:
    h = data["hertz"]
    load = h["load_lb"] * LB_KG * G_MPS2
    slack = 1.0 - h["poisson"] ** 2
    modulus = 1.0 / (slack / h["ball_modulus_pa"] + slack / h["lane_modulus_pa"])
    radius = (0.75 * load * 0.5 * BALL_DIAMETER_IN * IN_M / modulus) ** (1.0 / 3.0)
    pressure = load / (math.pi * radius**2)
    c = FrictionConstants()
    v = data["viscous_drag"]
    oil = mixture_of(Conditioner("check", viscosity_mpas=v["viscosity_mpas"], viscosity_at_c=21.0))
    k_s = float(entrainment_factor(8.0, 4.0))
    film = k_s * v["film_units"] * UNIT_M
    share = drag_share(film, v["slip_mps"], oil, mu_dry=0.2, temperature_c=21.0, constants=c)
    thickness = float(contact_film_m(film, oil.viscosity_pas(21.0), c.h_f0_m))
    return [
        near(
            f"contact: mean pressure by Hertz ({c.pressure_pa * 1e-6:g} MPa in the friction law)",
            h["source"],
            h["mean_pressure_mpa"],
            pressure * 1e-6,
            0.1,
            "MPa",
        ),
        near("contact: radius by Hertz", h["source"], h["radius_mm"], radius * 1e3, 0.01, "mm"),
        Check(
            "friction: shear drag alone, 50 mPa.s, 40 units, slip 5.6 m/s",
            v["source"],
            f"about {v['mu']:g}, below {v['mu_limit']:g}",
            f"{0.2 * float(share):.4f} (film in the contact {thickness * 1e6:.1f} um)",
            verdict(0.5 * v["mu"] <= 0.2 * float(share) < v["mu_limit"]),
        ),
    ]
