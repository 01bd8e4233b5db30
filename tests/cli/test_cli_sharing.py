"""Options about how a result is told: without names, as CSV; and the deep check of a center."""

import csv
import io
import json
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from leaguesim.report import compare_csv, compare_page
from leaguesim.report.pseudonyms import without_names

START = "from leaguesim.cli.main import run; run()"
PAIR = ("--now", "tuesday_40", "--next", "thursday_42")


def call(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", START, *words], capture_output=True, text=True, timeout=270
    )


@pytest.fixture(scope="module")
def center(tmp_path_factory) -> Path:
    """The starter with four bowlers in two teams, one with an average that nobody reaches."""
    from leaguesim.center import starter_folder

    folder = tmp_path_factory.mktemp("sharing") / "few"
    shutil.copytree(starter_folder() / "starter", folder)
    shutil.rmtree(folder / "tournaments")  # their cut wants more than four people
    head, *lines = (folder / "roster.csv").read_text(encoding="utf-8").splitlines()
    teams: dict[str, list[str]] = {}
    for line in lines:
        teams.setdefault(line.split(",")[1], []).append(line)
    rows = [line for people in list(teams.values())[:2] for line in people[:2]]
    name = rows[0].split(",")
    rows[0] = ",".join([*name[:-1], "270"])
    (folder / "roster.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return folder


def names_of(center: Path) -> set[str]:
    rows = list(csv.DictReader((center / "roster.csv").read_text(encoding="utf-8").splitlines()))
    return {r["bowler"] for r in rows} | {r["team"] for r in rows}


def test_csv_is_the_table_of_bowlers_and_nothing_else(center, capfd):
    from leaguesim.cli.main import main

    words = ["compare", str(center), *PAIR, "--nights", "1", "--seed", "7", "-q"]
    assert main([*words, "--csv"]) == 0
    out, err = capfd.readouterr()
    assert err == ""
    rows = list(csv.DictReader(io.StringIO(out)))
    assert main([*words, "--json"]) == 0
    bowlers = json.loads(capfd.readouterr().out)["bowlers"]
    assert [r["bowler"] for r in rows] == [b["bowler"] for b in bowlers]
    assert [float(r["change"]) for r in rows] == [b["change"] for b in bowlers]


def test_only_one_thing_can_have_standard_output(center):
    done = call("compare", str(center), *PAIR, "--csv", "--json")
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert "only one of them" in done.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--shard", "3/2", "--nights", "2", "--seed", "1", "--out", "p"], "such as 2/8"),
        (["--shard", "1/2", "--seed", "1", "--out", "p"], "needs --nights and --seed"),
        (["--shard", "1/2", "--nights", "2", "--out", "p"], "needs --nights and --seed"),
        (["--shard", "1/2", "--nights", "2", "--seed", "1"], "with --out"),
    ],
)
def test_a_part_needs_all_that_fixes_the_whole(center, capsys, words, told):
    from leaguesim.cli.main import main

    assert main(["compare", str(center), *PAIR, *words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert told in said.err
    assert len(said.err.splitlines()) == 1


def test_what_is_no_part_or_manifest_is_one_line(center, capsys, tmp_path):
    from leaguesim.cli.main import main

    (tmp_path / "p").write_bytes(b"something else, long enough to hold a digest in front")
    (tmp_path / "m.json").write_text('{"schema": "leaguesim.manifest/1"}')
    for words, told in (
        (["merge", str(tmp_path / "p")], "not a part that --shard wrote"),
        (["merge", str(tmp_path / "gone")], "cannot be read"),
        (["rerun", str(tmp_path / "p")], "not JSON"),
        (["rerun", str(tmp_path / "m.json")], "too old to repeat"),
        (["rerun", str(tmp_path / "gone")], "cannot be read"),
    ):
        assert main(words) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert told in said.err
        assert len(said.err.splitlines()) == 1


def test_names_leave_tables_notes_and_page(made_up):
    """Also names of one word in a note, beside a name that holds another."""
    result = made_up.compare()
    names = sorted(set(result.bowlers["bowler"]))
    teams = set(result.bowlers["team"])
    more = ["Zoe", "Zoe Q."]
    renamed = result.bowlers.assign(
        bowler=[*more, *result.bowlers["bowler"][2:]],
        team=[t.replace("Team", "Crew of") for t in result.bowlers["team"]],
    )
    note = "These are met to 2 pins or worse: Zoe, Zoe Q., Crew of 3."
    told = without_names(replace(result, bowlers=renamed, notes=[*result.notes, note]))
    assert set(told.bowlers["bowler"]) == {f"Bowler {k:02d}" for k in range(1, len(renamed) + 1)}
    assert set(told.bowlers["team"]) == {f"Team {k}" for k in range(1, len(teams) + 1)}
    texts = [told.to_json(), compare_page(told), *compare_csv(told).values()]
    for text in texts:
        assert "Zoe" not in text
        assert "Crew of" not in text
        assert not [n for n in names[:6] if n in text and not n.startswith("Bowler")]
    assert sorted(told.bowlers["change"]) == sorted(renamed["change"])
    best = told.bowlers["average_now"].to_numpy()
    assert (best[:-1] >= best[1:]).all()  # numbered by what the table shows


def test_pseudonyms_do_not_hang_on_the_names(made_up):
    """Other names and another order of the roster: the same shared result."""
    result = made_up.compare()
    table = result.bowlers
    others = table.assign(bowler=[f"N{k * 7919 % 1000:03d}" for k in range(len(table))])
    others = others.sort_values("bowler", ignore_index=True)
    a, b = without_names(result), without_names(replace(result, bowlers=others))
    assert a.bowlers.equals(b.bowlers)


@pytest.mark.slow
def test_no_file_of_a_shared_report_holds_a_name(center, tmp_path):
    out = tmp_path / "x"
    done = call(
        "compare", str(center), *PAIR, "--nights", "2", "--seed", "7", "--out", str(out),
        "--pseudonyms", "--charts",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    names = names_of(center)
    assert len(names) == 6
    texts = {p.name: p.read_bytes().decode("utf-8", "replace") for p in out.iterdir()}
    assert {"page.html", "bowlers.csv", "summary.json", "manifest.json"} <= set(texts)
    assert any(name.endswith(".svg") for name in texts)
    assert "Bowler 01" in texts["page.html"]
    assert "entering averages only to 2 pins or worse: Bowler" in texts["page.html"]
    for where, text in {**texts, "stdout": done.stdout, "stderr": done.stderr}.items():
        assert not [n for n in names if n in text], where
        assert str(center.parent) not in text or where in {"stdout", "stderr"}, where
    roster = json.loads(texts["manifest.json"])["inputs"]["roster.csv"]
    assert roster is None  # a hash would tell whether a guess at the names is right
    again = call("rerun", str(out / "manifest.json"), "--center", str(center), "-q")
    assert (again.returncode, again.stderr) == (0, ""), again.stdout


@pytest.mark.slow
def test_check_deep_holds_on_a_small_center(center):
    done = call("check", str(center), "--deep", "--json", "-q")
    assert done.returncode == 0, done.stdout
    told = json.loads(done.stdout)
    assert told["ok"] is True
    names = [c["name"] for c in told["deep"]]
    assert {"equal conditions", "conditions swapped", "one thread or two", "the mirror"} <= set(
        names
    )
    assert sum(name.startswith("oil on ") for name in names) == 2
    plain = call("check", str(center), "--deep", "-q")
    assert [line.split("  ")[0] for line in plain.stdout.splitlines()] == ["holds"] * len(names)
    assert plain.stderr == ""
