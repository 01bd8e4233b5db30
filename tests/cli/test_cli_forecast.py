"""compare with what is not known: wrong numbers and files are refused in one line, before any work."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from leaguesim.center import demo_center
from leaguesim.cli.commands_study import _unknowns
from leaguesim.errors import InputError


def test_how_many_points() -> None:
    assert _unknowns(None, 128) == 128
    assert _unknowns(None, 0) == 0
    assert _unknowns(0, 128) == 0
    assert _unknowns(16, 0) == 16
    for wrong in (-1, 3, 1025):
        with pytest.raises(InputError, match="--unknowns: 0 or a whole number from 4"):
            _unknowns(wrong, 0)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--unknowns", "3"], "--unknowns"),
        (["--fitted", "nowhere.json"], "nowhere.json"),
        (["--unknowns", "8", "--shard", "1/2"], "--shard"),
    ],
)
def test_refused_before_any_work(options: list[str], words: str, tmp_path: Path) -> None:
    from leaguesim.cli.main import app

    line = ["compare", str(demo_center()), "--now", "tuesday_40", "--next", "thursday_42"]
    out = tmp_path / "out"
    told = CliRunner().invoke(app, [*line, *options, "--out", str(out)])
    assert isinstance(told.exception, InputError)
    assert words in str(told.exception)
    assert not out.exists()
