"""The rep's page and text: verdicts first, words for every group, nothing left out."""

import io
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from rich.console import Console

from leaguesim.play.values import FairnessLimits
from leaguesim.report.fairnesspage import fairness_csv, fairness_page, fairness_text, headline
from leaguesim.study.exchange import exchange_table
from leaguesim.study.fairness_effects import (
    effects_table,
    group_questions,
    losers_table,
    twin_questions,
)
from leaguesim.study.fairness_result import FairnessResult
from leaguesim.tables import DESIGNATION, HANDICAP, TWINS, frame


@pytest.fixture(scope="module")
def result():
    """Put together by hand: 48 bowlers, the two-handed lose 12 pins more."""
    n = 48
    pair_of = np.repeat(np.arange(6), 8)
    two = np.arange(n) % 4 == 0
    left = np.arange(n) % 6 == 1
    lone = np.arange(n) == 3
    noise = np.random.default_rng(3).normal(size=n)
    before = 170.0 + 20.0 * np.sin(np.arange(n))
    change = -5.0 - 12.0 * two + noise
    kinds = ("league", "style", "style", "hand", "hand")
    names = ("league", "two_handed", "straight", "left", "right")
    members = np.stack([np.ones(n, bool), two, lone, left, ~left])
    gap = 0.2 * noise
    asked = group_questions(kinds, names, members, change, np.ones(n), before + change, pair_of)
    asked += twin_questions(gap, gap, pair_of)
    row = {k: [1.0] if c.dtype == "float64" else [18] for k, c in DESIGNATION.items()}
    row |= {"condition": ["flat"], "ratio_left": [np.nan]}
    shares = {k: [0.1] if c.dtype == "float64" else [90] for k, c in HANDICAP.items()}
    people = [f"Bowler {k} <b>" for k in range(n)]
    style = np.where(two, "two_handed", "straight")
    hand = np.where(left, "left", "right")
    cells = [people, style, hand, pair_of, gap, gap]
    return FairnessResult(
        "Long Hall", True, "flat", "house", "Flat & long", "House", True, "house", 3, 32, 64, 64, 1,
        "enough", FairnessLimits(), 160.0, 170.0, {"flat": "a", "house": "b"}, "The rule.",
        frame(DESIGNATION, row), None, "No readings.", effects_table(asked, 3.0),
        losers_table(kinds, names, members, before, before + change, 3.0),
        frame(TWINS, dict(zip(TWINS, cells, strict=True))),
        {"nights": 32, "largest_gap": 0.0, "bowlers_off": 0}, frame(HANDICAP, shares), "Twelve.",
        0.5, exchange_table({"x": before, "y": before + change}, pair_of), ["A note."],
    )  # fmt: skip


def test_the_first_screen_is_the_verdict_of_every_group(result):
    page = fairness_page(result)
    first = page[page.index("<main") : page.index("<nav")]
    assert "unfair toward two-handed" in first
    assert "Flat &amp; long is unfair toward two-handed" in first
    assert "the left hand of the same people: fair within 3 pins" in first
    assert "Too few to tell: straight" in first
    assert "outside dry" in page
    assert "Bowler 0 <b>" not in page


def test_no_verdict_is_a_bare_p_value(result):
    told = result.effects[result.effects["verdict"].isin(["fair", "unfair", "not shown"])]
    assert told["words"].str.contains("95 % from").all()


def test_fair_to_all_says_so(result):
    fair = result.effects[result.effects["verdict"] == "fair"]
    assert headline(replace(result, effects=fair)).endswith("to every group asked about.")


def test_questions_with_too_few_people_take_one_line(result):
    few = result.effects[result.effects["verdict"] == "too few"]
    twice = few.assign(group="power", bowlers=2, pairs=1)
    out = io.StringIO()
    more = replace(result, effects=pd.concat([result.effects, twice], ignore_index=True))
    fairness_text(more, Console(file=out, width=80))
    said = " ".join(out.getvalue().split())
    assert said.count("pairs are needed") == 1
    assert "power (2 on 1 pair)" in said
    assert f"{few['group'].iloc[0]} ({few['bowlers'].iloc[0]} on " in said


def test_text_and_csv(result):
    out = io.StringIO()
    fairness_text(result, Console(file=out, width=80))
    said = " ".join(out.getvalue().split())
    assert "unfair toward two-handed" in said
    for name in result.designation_words:
        assert f"{name}: " in said
    files = fairness_csv(result)
    assert "readings.csv" not in files
    read = pd.read_csv(io.StringIO(files["effects.csv"]))
    assert list(read["group"]) == list(result.effects["group"])
