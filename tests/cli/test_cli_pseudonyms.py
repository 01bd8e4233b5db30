"""No file of a report to be shared names anybody: every command but compare, on a small center.

The same of compare is in test_cli_sharing.
Names and teams are invented.  A name counts as told however a file spells it: plain, in HTML, in JSON.
"""

import csv
import html
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from leaguesim.cli.main import main
from leaguesim.report.pseudonyms import manifest_without_names, without_names

AWKWARD = ("Zoë O'Neil", "Ann <b>& Co", "Quill")
TEAMS = ("Pins & Needles", "Quorum", "Überlanes Two")
STRANGER = "Walter Stranger"
FOLDER = "hall-of-quill"

COMMANDS = {
    "surfaces": [
        "--now",
        "tuesday_40",
        "--next",
        "thursday_42",
        "--nights",
        "2",
        "--surface",
        "all",
    ],
    "lane": ["--condition", "tuesday_40"],
    "fairness": ["--condition", "thursday_42", "--against", "tuesday_40", "--nights", "32"],
    "fit": [],
    "tournament": ["--format", "club_open", "--played", "64"],
    "tune": ["--goal", "quick_look"],
}


@pytest.fixture(scope="module")
def center(tmp_path_factory) -> Path:
    """The starter with awkward names, a season of scores with a stranger in it, and a second surface."""
    from leaguesim.center import demo_center, starter_folder

    folder = tmp_path_factory.mktemp("nameless") / FOLDER
    shutil.copytree(starter_folder() / "starter", folder)
    (folder / "surfaces" / "resurfaced.toml").unlink()
    quick = (demo_center() / "goals" / "quick_look.toml").read_text(encoding="utf-8")
    quick = quick.replace("candidates = 12", "candidates = 8").replace("nights = 16", "nights = 8")
    quick = quick.replace("fresh_nights = 64", "fresh_nights = 32").replace(
        '"amber", "slate"', '"amber"'
    )
    (folder / "goals" / "quick_look.toml").write_text(quick, encoding="utf-8")
    head, *lines = (folder / "roster.csv").read_text(encoding="utf-8").splitlines()
    every = [line.split(",") for line in lines]
    people = [r for k, r in enumerate(every) if [q[1] for q in every[:k]].count(r[1]) < 2]
    for row, name in zip(people, AWKWARD, strict=False):
        row[0] = name
    teams = dict(zip(dict.fromkeys(r[1] for r in people), TEAMS, strict=False))
    for row in people:
        row[1] = teams.get(row[1], row[1])
    roster = "\n".join([head, *(",".join(row) for row in people)]) + "\n"
    (folder / "roster.csv").write_text(roster, encoding="utf-8")
    luck = np.random.default_rng(5)
    season = ["week,bowler,game1,game2,game3"]
    for week in range(1, 7):
        for k, row in enumerate(people[:-1]):
            season.append(
                f"{week},{row[0]}," + ",".join(str(g) for g in luck.integers(120, 200, 3) + k)
            )
    season.append(f"1,{STRANGER},150,150,150")
    (folder / "scores.csv").write_text("\n".join(season) + "\n", encoding="utf-8")
    return folder


def names_of(center: Path) -> set[str]:
    rows = list(csv.DictReader((center / "roster.csv").read_text(encoding="utf-8").splitlines()))
    return {r["bowler"] for r in rows} | {r["team"] for r in rows} | {STRANGER}


def spellings(name: str) -> set[str]:
    return {name, html.escape(name), json.dumps(name)[1:-1], name.replace("<", "\\u003c")}


@pytest.mark.slow
@pytest.mark.timeout(900)
@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_no_file_to_be_shared_holds_a_name(center, tmp_path, capsys, monkeypatch, name):
    out = tmp_path / "shared-by-quill"
    words = ["compare" if name == "surfaces" else name, str(center), *COMMANDS[name], "--seed", "7"]
    words += ["--pseudonyms", "--charts", "--out", str(out)]
    monkeypatch.setattr("sys.argv", ["leaguesim", *words])
    assert main(words) == 0
    said = capsys.readouterr()
    assert names_of(center) >= {*AWKWARD, *TEAMS, STRANGER}
    texts = {p.name: p.read_bytes().decode("utf-8", "replace") for p in out.iterdir()}
    assert {"page.html", "summary.json", "manifest.json"} <= set(texts)
    assert name == "lane" or any(file.endswith(".csv") for file in texts)
    assert "fitted.json" not in texts
    for where, text in texts.items():
        told = [n for n in sorted(names_of(center)) for way in spellings(n) if way in text]
        assert not told, where
        assert FOLDER not in text, where
        assert "shared-by-quill" not in text, where
    made = json.loads(texts["manifest.json"])
    assert made["argv"][1] == "DIR"
    assert made["inputs"]["roster.csv"] is None  # a hash would tell whether a guess is right
    assert made["inputs"].get("scores.csv") is None
    page = texts["page.html"]
    assert ("Bowler 01" in page) == (name in {"fairness", "fit", "tournament"})
    for text in (said.out, said.err):
        assert not [n for n in names_of(center) if n in text]


def test_a_manifest_to_be_shared_names_no_place_and_nobody(made_up):
    from leaguesim.bowlers.values import RosterLine

    roster = [RosterLine("Ann B.", "Quorum", "right", "stroker")]
    made = {
        "seed": 3, "command_line": "old",
        "argv": ["fairness", "/home/ann/Ann B./hall", "--condition", "a", "--house=/home/ann/other",
                 "--house", "near", "--out", "Quorum", "--scores=/home/ann/Quorum.csv", "--fitted", "x/fitted.json",
                 "--scheduler", "tcp://host:8786", "--pseudonyms"],
        "inputs": {"center.toml": "1a", "roster.csv": "2b", "conditions/Ann B.toml": "3c"},
    }  # fmt: skip
    got = manifest_without_names(made, roster)
    assert got["argv"] == [
        "fairness", "DIR", "--condition", "a", "--house=DIR", "--house", "DIR", "--scores=Team.csv",
        "--fitted", "fitted.json", "--scheduler", "tcp://host:8786", "--pseudonyms",
    ]  # fmt: skip
    assert got["command_line"].startswith("leaguesim fairness DIR --condition a")
    assert got["inputs"] == {"center.toml": "1a", "roster.csv": None, "conditions/Ann B.toml": "3c"}
    assert got["seed"] == 3


def test_names_that_no_table_has_leave_the_notes(made_up):
    """Whoever is on the roster but not among those who play, and teams where no table has any."""
    from dataclasses import replace

    from leaguesim.bowlers.values import RosterLine

    lane = made_up.lane()
    told = replace(lane, notes=["Ann B. of Corner Shop moved."])
    shared = without_names(told, [RosterLine("Ann B.", "Corner Shop", "right", "stroker")])
    assert shared.notes == ["Bowler of Team moved."]
    assert shared.to_json() == replace(lane, notes=shared.notes).to_json()
