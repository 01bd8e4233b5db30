"""The sample reports are what the code makes: as they lie there, and (slow) made anew."""

import json
import re
import shutil
from pathlib import Path

import pytest

from leaguesim.cli import samples
from leaguesim.cli.samplecheck import differences, structure

REPORTS = Path(__file__).parents[2] / "reports"
SECTIONS_OF = {
    "compare": "page", "lane": "lanepage", "fit": "fitpage", "fairness": "fairnesspage",
    "tune": "tunepage", "tournament": "tournamentpage",
}  # fmt: skip


@pytest.fixture(autouse=True)
def in_the_checkout(monkeypatch):
    monkeypatch.chdir(REPORTS.parent)


def test_samples_as_they_lie_there():
    """Inputs, commands, files, hashes and sizes; what differs is said."""
    assert samples.quick_faults(REPORTS) == []


@pytest.mark.parametrize("name", sorted(SECTIONS_OF))
def test_headings_are_those_of_the_code(name):
    from importlib import import_module

    page = (REPORTS / f"sample-{name}" / "page.html").read_text(encoding="utf-8")
    every = list(import_module(f"leaguesim.report.{SECTIONS_OF[name]}").SECTIONS.values())
    shown = structure(page)["headings"]
    assert [h for h in every if h in shown] == shown
    assert {"Cautions", "Words and units", "Manifest"} <= set(shown)
    assert structure(page)["charts"]
    assert structure(page)["tables"]


@pytest.mark.parametrize("name", sorted(SECTIONS_OF))
def test_charts_tables_and_words_are_those_of_the_code(name, made_up_page):
    """Columns of every table and titles in the glossary exist in the source as it is now."""
    from leaguesim.report.vocabulary import GLOSSARY

    told = structure((REPORTS / f"sample-{name}" / "page.html").read_text(encoding="utf-8"))
    assert set(told["glossary"]) <= {term for term, _ in GLOSSARY}
    if name == "compare":
        now = structure(made_up_page)
        heads = {t.partition(" | ")[2] for t in now["tables"]}
        heads = {
            h for h in heads if not h.startswith("week | of | going over")
        }  # of a sequence only
        assert heads <= {t.partition(" | ")[2] for t in told["tables"]}
        kinds = [{re.sub(r"-\d+$", "", c) for c in p["charts"]} for p in (now, told)]
        kinds = [{c for c in k if not c.startswith("scores-")} for k in kinds]
        assert kinds[0] - {"ways"} <= kinds[1]


def test_what_differs_is_said_in_plain_words(tmp_path):
    old, new = REPORTS / "sample-tournament", tmp_path / "sample-tournament"
    shutil.copytree(old, new)
    assert differences(old, new) == []
    page = (new / "page.html").read_text(encoding="utf-8")
    (new / "page.html").write_text(page.replace(">Entrants<", ">People<"), encoding="utf-8")
    rows = (new / "groups.csv").read_text(encoding="utf-8").splitlines()
    (new / "groups.csv").write_text("\n".join([*rows[:-1], ""]), encoding="utf-8")
    (new / "entrants.csv").unlink()
    said = differences(old, new)
    assert "sample-tournament: the page made now lacks heading 'Entrants'" in said
    assert "sample-tournament: the sample lacks heading 'People'" in said
    assert "sample-tournament: entrants.csv is made no more" in said
    assert any("groups.csv" in line and "rows, now" in line for line in said)


def test_a_sample_changed_by_hand_is_told(tmp_path):
    shutil.copytree(REPORTS / "sample-lane", tmp_path / "sample-lane")
    with (tmp_path / "sample-lane" / "arrivals.csv").open("a") as file:
        file.write("x\n")
    said = samples.quick_faults(tmp_path)
    assert "sample-lane: arrivals.csv was changed by hand" in said
    assert "sample-fit: is not there, or has no page" in said


def test_check_says_how_to_make_them(tmp_path, capsys):
    assert samples.main(["--check", "--quick", "--out", str(tmp_path)]) == 4
    said = capsys.readouterr().err
    assert "python -m leaguesim.cli.samples makes them anew" in said


def test_other_platforms_are_held_to_six_digits(tmp_path):
    old, new = REPORTS / "sample-tournament", tmp_path / "sample-tournament"
    shutil.copytree(old, new)
    manifest = json.loads((new / "manifest.json").read_text(encoding="utf-8"))
    (new / "manifest.json").write_text(json.dumps({**manifest, "cpu": "another"}), "utf-8")
    rows = (new / "entrants.csv").read_text(encoding="utf-8").split("\n")
    cells = rows[1].split(",")
    place = rows[0].split(",").index("skill")
    column = rows[0].split(",")[place]
    for factor, wrong in ((1.0 + 1e-9, False), (1.001, True)):
        changed = [*cells[:place], repr(float(cells[place]) * factor), *cells[place + 1 :]]
        text = "\n".join([rows[0], ",".join(changed), *rows[2:]])
        (new / "entrants.csv").write_text(text, encoding="utf-8")
        said = differences(old, new)
        assert said == ([f"sample-tournament: entrants.csv: other figures in {column}"] * wrong)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sample-lane", "sample-tournament", "sample-validate"])
def test_samples_made_anew_are_the_same(name):
    assert samples.remade_faults(REPORTS, [name]) == []
