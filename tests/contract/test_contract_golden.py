"""The demo's figures are those written down, and moved only with a line in the changelog that says so."""

import importlib.util
import json
import shutil
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def golden():
    path = Path(__file__).with_name("golden.py")
    spec = importlib.util.spec_from_file_location("golden", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def kept(golden):
    return json.loads(golden.GOLDEN.read_text(encoding="utf-8"))


def test_the_demos_figures_are_those_written_down(golden, kept):
    """After new samples: a line under "Changes results", then ``python tests/contract/golden.py``."""
    found = golden.now()
    assert golden.faults(kept, found) == []
    assert kept[-1]["results"] == found["results"], "python tests/contract/golden.py writes it down"
    assert kept[-1]["lines"] <= found["lines"], "lines that told of moved figures are gone"


def test_a_figure_moved_without_a_line_is_told(golden, kept, tmp_path):
    reports, changelog = tmp_path / "reports", tmp_path / "CHANGELOG.md"
    for name in golden.SAMPLES:
        shutil.copytree(golden.REPORTS / f"sample-{name}", reports / f"sample-{name}")
    shutil.copy(golden.CHANGELOG, changelog)
    before = golden.now(reports, changelog)
    assert golden.faults([before], before) == []
    table = reports / "sample-lane" / "arrivals.csv"
    text = table.read_text(encoding="utf-8")
    digit = next(k for k, sign in enumerate(text) if sign.isdigit() and k > text.index("\n"))
    other = "3" if text[digit] != "3" else "4"
    table.write_text(text[:digit] + other + text[digit + 1 :], encoding="utf-8")
    (told,) = golden.faults([before], golden.now(reports, changelog))
    assert told == "figures of lane moved without a new line under 'Changes results'"
    told = golden.faults([before, golden.now(reports, changelog)], before)
    assert len(told) == 2  # there and back again
    old = changelog.read_text(encoding="utf-8")
    for place, enough in ((golden.HEADING, True), ("### Added", False)):
        changelog.write_text(old.replace(f"{place}\n", f"{place}\n- A line.\n", 1), "utf-8")
        assert (golden.faults([before], golden.now(reports, changelog)) == []) is enough


def test_the_changelogs_lines_are_found(golden):
    text = (
        "## 2\n### Added\n- x\n### Changes results\n- a\n  b\n- c\n## 1\n### Changes results\n- d\n"
    )
    assert golden.moved_lines(text) == ["a b", "c", "d"]
