"""The page that leads to reports, the page of checks, and charts as files."""

import json
from pathlib import Path

import pytest

from leaguesim.cli.main import main
from leaguesim.outside.check import Check
from leaguesim.report.checkspage import checks_page
from leaguesim.report.export import chart_files
from leaguesim.report.indexpage import index_page, reports_in


def report(
    folder: Path,
    name: str,
    title: str,
    ended: str,
    schema: str = "leaguesim.manifest/1",
    said: str = "",
):
    below = folder / name
    below.mkdir(parents=True)
    told = {"schema": schema, "ended": ended, "command_line": f"leaguesim lane {name}"}
    (below / "manifest.json").write_text(json.dumps(told), encoding="utf-8")
    (below / "page.html").write_text(f"<html><title>{title}</title>{said}", encoding="utf-8")


def test_index_lists_reports_newest_first_and_nothing_else(tmp_path):
    report(tmp_path, "old", "Hall: older", "2026-01-01T10:00:00+00:00")
    said = '<p class="headline">It falls <b>2 pins</b> &amp; more.</p>'
    report(tmp_path, "n&w <b>", "Hall: a &amp; b", "2026-02-01T10:00:00+00:00", said=said)
    report(tmp_path, "foreign", "Not ours", "2026-03-01", schema="other/1")
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "manifest.json").write_text("{", encoding="utf-8")
    (tmp_path / "note.txt").write_text("hello", encoding="utf-8")
    entries = reports_in(tmp_path)
    assert [e.title for e in entries] == ["Hall: a & b", "Hall: older"]
    assert [e.answer for e in entries] == ["It falls 2 pins & more.", ""]
    page = index_page(entries)
    assert 'href="./n%26w%20%3Cb%3E/page.html"' in page
    assert "Hall: a &amp; b" in page
    assert "It falls 2 pins &amp; more." in page
    assert "2026-02-01 10:00<" in page
    assert "<script" not in page
    assert "default-src 'none'" in page


def test_index_command_writes_and_replaces_only_its_own(tmp_path, capsys):
    report(tmp_path, "one", "One", "2026-01-01T10:00:00+00:00")
    assert main(["index", str(tmp_path)]) == 0
    assert "index.html" in capsys.readouterr().out
    assert main(["index", str(tmp_path)]) == 0
    (tmp_path / "index.html").write_text("mine", encoding="utf-8")
    assert main(["index", str(tmp_path)]) == 2
    assert "not written by leaguesim" in capsys.readouterr().err
    assert (tmp_path / "index.html").read_text(encoding="utf-8") == "mine"
    assert not list(tmp_path.glob(".leaguesim-*"))


@pytest.mark.parametrize(("name", "words"), [("none", "no such folder"), ("empty", "no report")])
def test_index_command_says_what_is_missing(tmp_path, capsys, name, words):
    (tmp_path / "empty").mkdir()
    assert main(["index", str(tmp_path / name)]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / name / "index.html").exists()


def test_checks_page_shows_misses_first_with_sources():
    good = Check("ball: roll", "a paper <1>", "1", "1", "pass")
    bad = Check("pins: flush", "a rule", "17", "19", "miss")
    page = checks_page({"ball": [good], "pins": [bad]})
    assert page.index("Misses") < page.index("ball: roll")
    assert "1 of 2 independent checks agree" in page
    assert "a paper &lt;1&gt;" in page
    assert "<script" not in page
    assert page.count("pins: flush") == 2


def test_every_chart_of_a_page_is_a_file(made_up):
    from leaguesim.report.page import compare_drawn

    parts = compare_drawn(made_up.compare())
    figure = parts[0][0].figure
    files = chart_files([figure])
    assert sorted(files) == [f"chart-{figure.key}.png", f"chart-{figure.key}.svg"]
    png, svg = files[f"chart-{figure.key}.png"], files[f"chart-{figure.key}.svg"]
    assert isinstance(png, bytes)
    assert png.startswith(b"\x89PNG")
    assert isinstance(svg, str)
    assert svg.startswith("<svg")
