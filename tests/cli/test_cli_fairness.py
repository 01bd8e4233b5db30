"""The fairness command: bad input is one clear sentence and leaves nothing behind."""

from pathlib import Path

import pytest

from leaguesim.center import demo_center
from leaguesim.cli.main import main


@pytest.mark.parametrize("extra", [["--condition", "nowhere"],
                                   ["--condition", "tuesday_40", "--against", "nowhere"],
                                   ["--condition", "tuesday_40", "--house", "no-such-folder"]])  # fmt: skip
def test_bad_input_writes_nothing(capsys, tmp_path, extra):
    out = tmp_path / "report"
    code = main(["fairness", str(demo_center()), *extra, "--out", str(out)])
    told = capsys.readouterr()
    assert code == 2
    assert told.out == ""
    assert "Traceback" not in told.err
    assert any(word in told.err for word in ("nowhere", "no-such-folder"))
    assert list(Path(tmp_path).iterdir()) == []
