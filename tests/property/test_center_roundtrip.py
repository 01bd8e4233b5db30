"""Values written as files come back as they were, and no text makes the door fall over."""

import json
import shutil
import tomllib
import unicodedata
from dataclasses import asdict
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import RosterLine
from leaguesim.center import read, starter_folder
from leaguesim.center.positions import positions
from leaguesim.errors import ProfileError
from leaguesim.lane.values import Band, Conditioner

STARTER = starter_folder() / "starter"


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False)


share = st.floats(0.01, 0.99)
names = st.text(st.characters(codec="utf-8", categories=("L", "N")), min_size=1, max_size=20).map(
    lambda text: unicodedata.normalize("NFC", text)
)


@st.composite
def bands(draw: st.DrawFn) -> list[Band]:
    made = []
    for _ in range(draw(st.integers(1, 5))):
        start = draw(number(0, 50))
        right = draw(st.integers(1, 39))
        amber = draw(share)
        made.append(
            Band(
                from_ft=start,
                to_ft=start + draw(number(0.1, 10)),
                from_board=right,
                to_board=draw(st.integers(right, 39)),
                volume_ml=draw(number(0.01, 12)),
                shares=(("amber", amber), ("slate", 1.0 - amber)),
            )
        )
    return made


balls = st.builds(
    Ball,
    mass_lb=number(5, 16),
    rg_in=number(2.46, 2.80),
    roughness_uin=number(0.5, 50),
    differential_in=number(0, 0.06),
    dry_friction=st.none() | number(0.02, 0.32),
    absorption=number(0, 1),
    diameter_in=number(8.5, 8.595),
    name=st.just("medium"),
)
conditioners = st.builds(
    Conditioner,
    name=st.just("amber"),
    viscosity_mpas=number(12, 81),
    viscosity_change_per_10f=number(-0.4, -0.05),
    density_g_per_ml=number(0.7, 1.1),
    base_share=number(0.01, 1),
    critical_rate_per_s=number(1e3, 1e9),
    boundary_factor=number(0.2, 5),
    left_behind=number(0, 1),
    ball_affinity=number(0, 1),
    price_per_litre=st.none() | number(0, 100),
    note=st.text(max_size=50),
)
people = st.builds(
    RosterLine,
    bowler=names,
    team=st.sampled_from(["A", "B", "C", "D"]),
    hand=st.sampled_from(["right", "left"]),
    style=st.sampled_from(["stroker", "power", "casual"]),
    speed_mph=st.none() | number(5, 30),
    rev_rate_rpm=st.none() | number(0, 700),
    axis_rotation_deg=st.none() | number(-120, 120),
    axis_tilt_deg=st.none() | number(-45, 60),
    average=st.none() | number(30, 279),
)


def toml(values: dict[str, object]) -> str:
    """Flat TOML; a JSON string is a TOML string once DEL is escaped."""
    lines = []
    for key, value in values.items():
        if key != "name" and value is not None:
            text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)
            lines.append(f"{key} = {text}".replace("\x7f", "\\u007f"))
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(STARTER, tmp_path_factory.mktemp("fuzz") / "hall"))


def as_written(conditioner: Conditioner) -> dict[str, object]:
    """The keys of a conditioner's file; what is not known of its figures is no key of it."""
    told = asdict(conditioner)
    return {key: value for key, value in told.items() if key not in ("doubt", "coarse")}


@settings(max_examples=40, deadline=None)
@given(bands(), balls, conditioners, st.lists(people, min_size=1, max_size=8))
def test_center_values_come_back(
    hall: Path, laid: list[Band], ball: Ball, conditioner: Conditioner, roster: list[RosterLine]
) -> None:
    roster = list({line.bowler.casefold(): line for line in roster}.values())
    text = "".join(
        f"[[bands]]\nfrom_ft = {b.from_ft!r}\nto_ft = {b.to_ft!r}\n"
        f"from_board = {b.from_board}\nto_board = {b.to_board}\nvolume_ml = {b.volume_ml!r}\n"
        f"shares = {{ amber = {b.shares[0][1]!r}, slate = {b.shares[1][1]!r} }}\n"
        for b in laid
    )
    (hall / "conditions/tuesday_40.toml").write_text(text, encoding="utf-8")
    (hall / "balls/medium.toml").write_text(toml(asdict(ball)), encoding="utf-8")
    (hall / "conditioners/amber.toml").write_text(toml(as_written(conditioner)), encoding="utf-8")
    rows = [list(asdict(line).values()) for line in roster]
    lines = [
        ",".join(asdict(roster[0])),
        *(",".join("" if v is None else str(v) for v in r) for r in rows),
    ]
    (hall / "roster.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    center = read(hall)
    found = center.conditions["tuesday_40"].bands
    assert len(found) == len(laid)
    for got, want in zip(found, laid, strict=True):
        assert (got.from_ft, got.to_ft, got.volume_ml) == (want.from_ft, want.to_ft, want.volume_ml)
        assert (got.from_board, got.to_board) == (want.from_board, want.to_board)
        for (name, part), (other, wanted) in zip(got.shares, want.shares, strict=True):
            assert name == other
            assert part == pytest.approx(wanted, rel=1e-12)
    assert center.balls["medium"] == ball
    assert center.conditioners["amber"] == conditioner
    want_roster = [asdict(line) for line in roster]
    assert [asdict(line) for line in center.roster] == want_roster


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_center_any_damage_ends_in_faults_or_a_center(hall: Path, data: st.DataObject) -> None:
    file = hall / data.draw(
        st.sampled_from(
            ["center.toml", "conditions/tuesday_40.toml", "styles/power.toml", "roster.csv"]
        )
    )
    good = file.read_bytes()
    at = data.draw(st.integers(0, len(good)))
    cut = data.draw(st.integers(0, 40))
    put = data.draw(
        st.binary(max_size=6)
        | st.sampled_from(
            [b"[", b"]", b"{", b"\n", b'"', b"'''", b"=", b"-", b"nan", b"true", b",", b";"]
        )
    )
    try:
        file.write_bytes(good[:at] + put + good[at + cut :])
        found = _faults(hall)
    finally:
        file.write_bytes(good)
    assert found is None or found
    for text in found or ():
        assert text.startswith(hall.as_posix())
        assert text.isprintable()


def _faults(folder: Path) -> list[str] | None:
    try:
        read(folder)
    except ProfileError as fault:
        return fault.faults
    return None


json_like = st.recursive(
    st.booleans() | st.integers(-5, 5) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=12,
)  # fmt: skip


def _inline(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(k)} = {_inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[\n" + ",  # note\n".join(map(_inline, value)) + "\n]"
    return _text(value) if isinstance(value, str) else str(value)


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _paths(value: object, path: tuple[str | int, ...]) -> list[tuple[str | int, ...]]:
    inner = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    return [path, *(p for key, part in inner for p in _paths(part, (*path, key)))]


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.text(max_size=6), json_like, max_size=4))
def test_center_positions_find_every_key_of_any_document(document: dict[str, object]) -> None:
    text = "".join(f"{_text(key)} = {_inline(value)}\n" for key, value in document.items())
    parsed = tomllib.loads(text)
    lines = positions(text)
    assert set(lines) == set(_paths(parsed, ()))
    starts = [lines[key,] for key in document]
    assert starts == sorted(starts)
    assert max(lines.values()) <= text.count("\n") + 1
    for key, line in zip(document, starts, strict=True):
        assert text.split("\n")[line - 1].startswith(_text(key))
