"""CSV cells, terminal text and whole-or-nothing output folders."""

import csv
import errno
import io
import json
import os
from pathlib import Path

import pytest
from rich.console import Console

from leaguesim.errors import OutputError
from leaguesim.report import compare_csv, compare_text, lane_csv, lane_text
from leaguesim.report.csvfiles import cell
from leaguesim.run import output
from leaguesim.run.blocks import PREFIX
from leaguesim.run.output import OutputFolder, default_folder


@pytest.mark.parametrize("name", ["=1+1", "+1", "-minus", "@home", "\tx", "\rx"])
def test_names_that_look_like_formulas_are_defused(name):
    assert cell(name) == "'" + name


def test_numbers_are_left_alone():
    assert cell(-2.5) == "-2.5"
    assert cell(float("nan")) == ""
    assert cell(True) == "true"
    assert cell(None) == ""


def test_csv_files_read_back(made_up):
    result = made_up.compare()
    files = compare_csv(result)
    rows = list(csv.DictReader(io.StringIO(files["bowlers.csv"])))
    assert [r["bowler"].removeprefix("'") for r in rows] == list(result.bowlers["bowler"])
    assert [float(r["change"]) for r in rows] == list(result.bowlers["change"])
    styles = list(csv.DictReader(io.StringIO(files["styles.csv"])))
    assert [r["style"] for r in styles] == list(result.groups["style"]["group"])
    assert set(lane_csv(made_up.lane())) == {"cells.csv", "paths.csv", "arrivals.csv"}


def test_terminal_text_fits_80_columns_and_answers_first(made_up):
    out = io.StringIO()
    console = Console(file=out, width=80)
    compare_text(made_up.compare(), console)
    lane_text(made_up.lane(), console)
    lines = out.getvalue().splitlines()
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("League average falls") for line in lines[:4])
    assert "\x1b[" not in out.getvalue()


def test_default_folder_is_always_a_new_one(tmp_path):
    assert default_folder("compare", "a/b", "..", base=tmp_path).name == "compare-a-b-unnamed"
    first = default_folder("compare", "a", "b", base=tmp_path)
    first.mkdir()
    assert default_folder("compare", "a", "b", base=tmp_path).name == "compare-a-b-2"


def test_writes_all_files(tmp_path):
    target = tmp_path / "deep" / "er"
    OutputFolder(target).write({"a.txt": "ä\n", "b.bin": b"\0"})
    assert (target / "a.txt").read_bytes() == "ä\n".encode()
    assert sorted(p.name for p in target.iterdir()) == ["a.txt", "b.bin"]
    assert [p.name for p in (tmp_path / "deep").iterdir()] == ["er"]


def test_an_empty_folder_may_be_used_a_full_one_not(tmp_path):
    OutputFolder(tmp_path / "x").write({"a": "1"})
    (tmp_path / "empty").mkdir()
    OutputFolder(tmp_path / "empty").write({"a": "1"})
    with pytest.raises(OutputError, match="not empty"):
        OutputFolder(tmp_path / "x")


def marked(files: list[str]) -> str:
    return json.dumps({"schema": "leaguesim.manifest/1", "files": files})


def test_force_replaces_only_what_a_report_wrote(tmp_path):
    target = tmp_path / "x"
    OutputFolder(target).write({"a": "1", "manifest.json": marked(["a", "manifest.json"])})
    OutputFolder(target, force=True).write({"b": "2", "manifest.json": marked(["b"])})
    assert sorted(p.name for p in target.iterdir()) == ["b", "manifest.json"]
    (target / "mine.txt").write_text("keep")
    with pytest.raises(OutputError, match=r"mine\.txt"):
        OutputFolder(target, force=True)
    assert (target / "mine.txt").read_text() == "keep"


def test_force_never_empties_a_folder_of_somebody_else(tmp_path):
    (tmp_path / "thesis.tex").write_text("years")
    with pytest.raises(OutputError, match=r"thesis\.tex"):
        OutputFolder(tmp_path, force=True)


@pytest.mark.parametrize("broken", ["not json", "[]", '{"schema": 3}', '{"files": ["a"]}'])
def test_a_broken_manifest_protects_the_folder(tmp_path, broken):
    (tmp_path / "manifest.json").write_text(broken)
    with pytest.raises(OutputError):
        OutputFolder(tmp_path, force=True)


def test_file_in_the_way(tmp_path):
    (tmp_path / "f").write_text("")
    with pytest.raises(OutputError, match="file is in the way"):
        OutputFolder(tmp_path / "f")
    with pytest.raises(OutputError, match="in the way"):
        OutputFolder(tmp_path / "f" / "below")
    (tmp_path / "dead").symlink_to(tmp_path / "gone")
    with pytest.raises(OutputError, match="leads nowhere"):
        OutputFolder(tmp_path / "dead")


def test_place_that_cannot_be_written():
    with pytest.raises(OutputError, match="cannot be written"):
        OutputFolder("/proc/leaguesim-report")
    with pytest.raises(OutputError, match="not a usable folder name"):
        OutputFolder("a\0b")


@pytest.mark.parametrize(
    "failure", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()]
)
def test_nothing_half_written_is_left(tmp_path, monkeypatch, failure):
    target = tmp_path / "new" / "x"
    place = OutputFolder(target)
    real, calls = os.fsync, []

    def failing(descriptor: int) -> None:
        calls.append(descriptor)
        if len(calls) == 2:
            raise failure
        real(descriptor)

    monkeypatch.setattr(os, "fsync", failing)
    expected = OutputError if isinstance(failure, OSError) else KeyboardInterrupt
    with pytest.raises(expected):
        place.write({"a": "1", "b": "2", "c": "3"})
    assert list(tmp_path.iterdir()) == []


def test_an_earlier_report_survives_a_failed_replacement(tmp_path, monkeypatch):
    target = tmp_path / "x"
    OutputFolder(target).write({"a": "old", "manifest.json": marked(["a"])})
    place = OutputFolder(target, force=True)
    real = Path.rename

    def failing(self: Path, other: Path) -> Path:
        if self.name.startswith(".leaguesim-") and not self.name.endswith("-earlier"):
            raise OSError(errno.EIO, "Input/output error")
        return real(self, other)

    monkeypatch.setattr(Path, "rename", failing)
    monkeypatch.setattr(output, "exchange", lambda *_: False)  # where names can't be swapped
    with pytest.raises(OutputError, match="no part of the report was left"):
        place.write({"a": "new"})
    assert (target / "a").read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["x"]


@pytest.mark.parametrize("swap", [True, False])
@pytest.mark.parametrize("force", [True, False])
def test_what_another_run_wrote_since_the_last_look_stays(tmp_path, monkeypatch, swap, force):
    """Two runs into one folder: the second to finish leaves the first one's report as it is."""
    target = tmp_path / "x"
    place = OutputFolder(target, force=force)
    real = output._write_file

    def late(path: Path, content: bytes | str) -> None:
        real(path, content)
        target.mkdir(exist_ok=True)
        (target / "theirs").write_text("first")

    monkeypatch.setattr(output, "_write_file", late)
    if not swap:
        monkeypatch.setattr(output, "exchange", lambda *_: False)
    with pytest.raises(OutputError, match="theirs" if force else "not empty"):
        place.write({"a": "second"})
    assert [p.name for p in tmp_path.iterdir()] == ["x"]
    assert [p.name for p in target.iterdir()] == ["theirs"]


def test_kept_blocks_go_when_the_report_is_there(tmp_path):
    target = tmp_path / "x"
    (target / f"{PREFIX}abc").mkdir(parents=True)
    (target / f"{PREFIX}abc" / "block-00000-pair-0000-32.npz").write_bytes(b"1")
    assert default_folder("x", base=tmp_path) == target  # a run cut off goes on there
    OutputFolder(target).write({"a": "1"})
    assert [p.name for p in target.iterdir()] == ["a"]
