"""Earlier play before a league: written once in center.toml, or by a condition for itself."""

import shutil
from pathlib import Path

import pytest

from leaguesim.center import demo_center, read
from leaguesim.errors import ProfileError

LEAGUE = "[league.after]\ngames_per_lane = 12\nstyles = { casual = 0.7, straight = 0.3 }\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_center(), tmp_path / "center"))


def add(path: Path, text: str) -> None:
    path.write_text(path.read_text(encoding="utf-8") + "\n" + text, encoding="utf-8")


def test_the_leagues_earlier_play_comes_before_every_condition_but_those_that_say_their_own(
    folder: Path,
) -> None:
    add(folder / "center.toml", LEAGUE)
    add(
        folder / "conditions" / "thursday_42.toml",
        "[after]\ngames_per_lane = 0\nstyles = { casual = 1.0 }\n",
    )
    center = read(folder)
    ours = center.conditions["tuesday_40"].after
    assert ours is not None
    assert (ours.games_per_lane, dict(ours.styles)) == (12, {"casual": 0.7, "straight": 0.3})
    fresh = center.conditions["thursday_42"].after
    assert fresh is not None
    assert fresh.games_per_lane == 0


def test_an_unknown_style_in_it_is_told_with_its_line(folder: Path) -> None:
    add(folder / "center.toml", LEAGUE.replace("casual", "casul"))
    with pytest.raises(ProfileError, match=r"center\.toml:\d+: league\.after\.styles.*casual") as e:
        read(folder)
    assert len(e.value.faults) == 1
