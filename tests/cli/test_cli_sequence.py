"""compare --sequence: a dated way over, named, refused, played in parts and repeated."""

import json
import shutil
import subprocess
import sys

import pytest

START = "from leaguesim.cli.main import run; run()"
PAIR = ["--now", "tuesday_40", "--next", "thursday_42"]
SHORT = ["--nights", "1", "--seed", "4"]


def call(*words, cwd=None):
    return subprocess.run(
        [sys.executable, "-c", START, *words],
        capture_output=True, text=True, cwd=cwd, timeout=240,
    )  # fmt: skip


@pytest.fixture(scope="module")
def center(tmp_path_factory):
    """The demo center with eight bowlers on two pairs."""
    from leaguesim.center import demo_center

    folder = tmp_path_factory.mktemp("sequence") / "hall"
    shutil.copytree(demo_center(), folder)
    roster = (folder / "roster.csv").read_text(encoding="utf-8").splitlines()
    (folder / "roster.csv").write_text("\n".join(roster[:9]) + "\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def told(center):
    done = call("compare", "hall", *PAIR, "--sequence", "by_blend", *SHORT, "--json", "--quiet",
                cwd=center.parent)  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_steps_are_told_and_the_file_is_an_input(told):
    weeks = told["first_weeks"]
    assert weeks["steps"] == [
        {"date": "2027-01-05", "condition": "tuesday_40_blend"},
        {"date": "2027-01-26", "condition": "thursday_42"},
    ]
    assert weeks["weeks_played"] == weeks["weeks"] + 3
    assert {row["way"] for row in weeks["by_week"]} == {"jump", "sequence"}
    assert weeks["sequence"]["gain_se"] > 0.0
    assert "sequences/by_blend.csv" in told["manifest"]["inputs"]


@pytest.mark.slow
def test_parts_joined_give_the_bytes_of_one_run(center, told, tmp_path):
    """The first weeks are played when the parts are joined."""
    for i in (1, 2):
        done = call("compare", "hall", *PAIR, "--sequence=sequences/by_blend.csv", *SHORT,
                    "--shard", f"{i}/2", "--out", str(tmp_path / f"p{i}"), "-q",
                    cwd=center.parent)  # fmt: skip
        assert done.returncode == 0, done.stderr
    parts = [str(tmp_path / "p1"), str(tmp_path / "p2")]
    done = call("merge", *parts, "--json", "-q", cwd=center.parent)
    assert done.returncode == 0, done.stderr
    joined = json.loads(done.stdout)
    assert {k: v for k, v in joined.items() if k != "manifest"} == {
        k: v for k, v in told.items() if k != "manifest"
    }


@pytest.mark.slow
def test_a_run_is_repeated_with_its_sequence(center, told, tmp_path):
    path = tmp_path / "manifest.json"
    path.write_text(json.dumps(told["manifest"]), encoding="utf-8")
    done = call("rerun", str(path), "--json", "-q", cwd=center.parent)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["same_result"] is True


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (None, "did you mean by_blend"),
        ("2027-01-05,thursday_42\n2027-01-12,tuesday_40", "must end on the same one"),
        ("2027-01-05,tuesday_4O\n2027-01-12,thursday_42", "did you mean tuesday_40"),
        ("2027-01-12,tuesday_40\n2027-01-05,thursday_42", "wrong order"),
    ],
)
def test_a_sequence_that_cannot_be_is_one_line(center, tmp_path, rows, said):
    name = "by_blent"
    if rows is not None:
        path = tmp_path / "way.csv"
        path.write_text(f"date,condition\n{rows}\n", encoding="utf-8")
        name = str(path)
    done = call("compare", "hall", *PAIR, "--sequence", name, "-q", cwd=center.parent)
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert said in done.stderr
