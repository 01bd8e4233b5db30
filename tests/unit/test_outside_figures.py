"""The loader of outside figures, and that no number is without a source."""

from importlib.resources import files

import pytest

from leaguesim.errors import InputError, LibraryError
from leaguesim.outside import figures as module
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figure_names, figures, unsourced


def test_scoring_is_there_and_small():
    assert "scoring" in figure_names()
    data = figures("scoring")
    assert len(data["all_games"]["counts"]) == 301
    size = len(files("leaguesim.outside").joinpath("scoring.toml").read_bytes())
    assert size < 250_000


@pytest.mark.parametrize("name", figure_names())
def test_every_number_has_a_source(name):
    assert unsourced(figures(name)) == []


def test_a_reader_cannot_change_what_the_next_one_reads():
    figures("scoring")["sheets"]["rows"].clear()
    assert figures("scoring")["sheets"]["rows"]


@pytest.mark.parametrize("name", ["", "no_such", "../units", "scoring.toml", "Scoring", "a/b"])
def test_unknown_subject_is_one_clear_line(name):
    with pytest.raises(InputError, match=r"no outside figures .* there are: .*scoring") as caught:
        figures(name)
    assert "\n" not in str(caught.value)


def test_a_damaged_file_is_our_fault(tmp_path, monkeypatch):
    (tmp_path / "bent.toml").write_text("a = = 1\n")
    monkeypatch.setattr(module, "files", lambda package: tmp_path)
    with pytest.raises(LibraryError, match=r"bent\.toml can't be read"):
        figures("bent")


def test_unsourced_names_each_place():
    tables = {
        "free": 3,
        "oil": {"rows": [{"value": 1.0}, {"value": 2.0, "source": "common practice, no source"}]},
        "blank": {"source": "  ", "value": 4},
        "pin": {"source": "from memory", "deep": {"value": 5}},
        "words": {"note": "no number"},
    }
    assert unsourced(tables) == ["free", "oil.rows[0].value", "blank.value"]


def test_check_row():
    row = Check("name", "source", "1", "1", verdict(True))
    assert (row.verdict, row.use) == ("pass", "check")
    assert verdict(False) == "miss"
    with pytest.raises(AttributeError):
        row.verdict = "miss"
