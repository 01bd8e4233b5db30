"""fit with a trial pair in the season, then compare --fitted: what is learnt of the new oil is carried on."""

import csv
import io
import json
import shutil
import subprocess
import sys
from hashlib import sha256

import pytest

# A fifth of the replica leagues that a league of eight gets; nothing else is cut short.
START = (
    "import leaguesim.study.fitting as f; f.WANTED = 80\nfrom leaguesim.cli.main import run; run()"
)
HOME, TRIAL = "tuesday_40", "thursday_42"
PAIR = ["--now", HOME, "--next", TRIAL]
SECOND = ("T3", "T4")  # the teams of the second pair
WEEKS, TRIED = 16, (11, 16)
SHORT = ["--nights", "8", "--seed", "4", "--unknowns", "8"]


def call(*words, cwd):
    return subprocess.run(
        [sys.executable, "-c", START, *words],
        capture_output=True, text=True, cwd=cwd, timeout=580,
    )  # fmt: skip


def _rows(text):
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module")
def hall(tmp_path_factory):
    """The demo center with eight bowlers on two pairs; in six weeks the second has the new condition."""
    from leaguesim.center import demo_center, read
    from leaguesim.cli.demo_season import hidden_people, season_csv

    folder = tmp_path_factory.mktemp("trial") / "hall"
    shutil.copytree(demo_center(), folder)
    (folder / "scores.csv").unlink()
    roster = (folder / "roster.csv").read_text(encoding="utf-8").splitlines()
    lines = [roster[0]]
    for k, line in enumerate(roster[1:9]):
        cells = line.split(",")
        lines.append(",".join([cells[0], f"T{k // 2 + 1}", *cells[2:]]))
    (folder / "roster.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    center = read(folder)
    people = hidden_people(center)
    on = [
        _rows(season_csv(center, people, weeks=WEEKS, condition=name, missed=0.0))
        for name in (HOME, TRIAL)
    ]
    rows = []
    for home, trial in zip(*on, strict=True):
        second = home["team"] in SECOND
        tried = second and TRIED[0] <= int(home["week"]) <= TRIED[1]
        rows.append({**(trial if tried else home), "lane_pair": "2" if second else "1"})
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    (folder / "scores.csv").write_text(text.getvalue(), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def fitted(hall):
    done = call("fit", "hall", "--seed", "3", "--out", "fitted", "-q", cwd=hall.parent)
    assert done.returncode == 0, done.stderr
    return hall.parent / "fitted"


@pytest.fixture(scope="module")
def told(hall, fitted):
    done = call("compare", "hall", *PAIR, *SHORT, "--fitted", "fitted/fitted.json", "--out", "told", "-q",
                cwd=hall.parent)  # fmt: skip
    assert done.returncode == 0, done.stderr
    return hall.parent / "told"


pytestmark = [pytest.mark.slow, pytest.mark.timeout(900)]


def test_a_trial_pair_is_told_and_kept(fitted):
    summary = json.loads((fitted / "summary.json").read_text(encoding="utf-8"))
    (row,) = summary["measured"]
    assert (row["source"], row["conditions"], row["conditioners"]) == (
        "trial pair",
        [TRIAL],
        ["slate"],
    )
    assert row["bowlers"] == 4
    assert row["games"] == 4 * 6 * 3
    assert row["pairs"] == ["2"]
    assert row["shared_pairs"]
    assert row["posterior_sd"] < row["prior_sd"]
    # The season was played with the oil as its files say: what is seen is what the model expects.
    assert abs(row["beyond"]) < 3.0 * (row["error"] ** 2 + row["prior_sd"] ** 2) ** 0.5
    # Games on the trial are not today's: nobody is fitted to them.
    games = {b["team"]: b["games"] for b in summary["bowlers"]}
    assert games == {"T1": WEEKS * 3, "T2": WEEKS * 3, "T3": (WEEKS - 6) * 3, "T4": (WEEKS - 6) * 3}
    known = json.loads((fitted / "fitted.json").read_text(encoding="utf-8"))["conditioners"]
    assert all(a.startswith("slate: ") for a in known["axes"])
    assert any(m != 0.0 for m in known["mean"])
    page = (fitted / "page.html").read_text(encoding="utf-8")
    assert "What a trial and film readings say of conditioners" in page
    assert f"Trial of {TRIAL}" in page


def test_compare_says_what_the_fit_leaves_open(fitted, told):
    summary = json.loads((told / "summary.json").read_text(encoding="utf-8"))
    forecast = summary["forecast"]
    assert forecast["fitted"] is True
    assert forecast["unknowns"] == 8
    assert forecast["league"]["low"] < forecast["league"]["change"] < forecast["league"]["high"]
    for name in (
        "chance_falls",
        "chance_rises",
        "games_300_now",
        "series_800_next",
        "games_200_next",
    ):
        assert name in forecast["league"]
    assert all("chance_falls" in b for b in forecast["bowlers"])
    page = (told / "page.html").read_text(encoding="utf-8")
    for words in ("Chance that the league average falls more than 3 pins", "falls more than 5",
                  "games of 300", "series of 800", "games of 200 and more"):  # fmt: skip
        assert words in page


def test_the_fitted_file_is_an_input_and_is_used_again(hall, fitted, told):
    file = fitted / "fitted.json"
    before = file.read_bytes()
    inputs = json.loads((told / "manifest.json").read_text(encoding="utf-8"))["inputs"]
    assert inputs["fitted.json"] == sha256(before).hexdigest()
    done = call("rerun", "told/manifest.json", "--json", "-q", cwd=hall.parent)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["same_result"] is True
    other = json.loads(before)
    for bowler in other["bowlers"]:
        for draw in bowler["draws"]:
            draw[4] *= 1.3
    try:
        file.write_text(json.dumps(other), encoding="utf-8")
        done = call("rerun", "told/manifest.json", "--json", "-q", cwd=hall.parent)
    finally:
        file.write_bytes(before)
    assert done.returncode == 2
    again = json.loads(done.stdout)
    assert again["same_result"] is False
    assert "fitted.json: has changed" in again["changed_files"]
