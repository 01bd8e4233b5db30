"""The director's pages, put together by hand: choice of style, blending answered, budgets and method told."""

import json
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from leaguesim.center import demo_center, read
from leaguesim.lane.values import Band
from leaguesim.outside.verdict_rates import coverage
from leaguesim.play.aims import Goal, Limits, Machine, Tournament
from leaguesim.report.fairnesswords import ends
from leaguesim.report.tournamentpage import tournament_page
from leaguesim.report.tunepage import tune_page, verdict
from leaguesim.study.tournaments import TournamentResult
from leaguesim.study.tunepattern import Recipe, condition_of, facts, readings, tapes_ft
from leaguesim.study.tuneresult import TuneResult, _blend_less_single, _differences, sentences
from leaguesim.study.tuning import within

STYLES = ("straight", "two_handed")
LOOKS = {"average": 165.0, "average_se": 0.1, "style_spread": 1.0, "discrimination": 0.5}


def tuned(stops_high=None):
    """A kept-happy search of three kinds: 32 people on eight pairs, the blend keeps the two-handed happy."""
    from leaguesim.lane.lane import Lane

    oils = read(demo_center()).conditioners
    goal = Goal("g", "kept-happy", "A goal", limits=Limits(stops_high=stops_high))
    n = 32
    style = [STYLES[k % 2] for k in range(n)]
    two = np.array([s == "two_handed" for s in style])
    kinds = {"blend": ("amber", "slate"), "plain": ("amber",), "shear-thinning": ("slate",)}
    best, averages, happy = [], [], []
    for k, (family, laid) in enumerate(kinds.items()):
        recipe = Recipe(40.0, 25.0, 5.0, 0.9, laid)
        condition = condition_of(f"g_{k + 1}", "t", recipe, Machine())
        lane = Lane.from_condition(condition, oils)
        share = 1.0 - 0.2 * k
        best.append({
            "name": f"g_{k + 1}", "family": family, "oils": list(laid), "kept_happy": share, **LOOKS,
            **facts(condition.bands, oils), "searched": {**LOOKS, "kept_happy": 0.875},
            "bands": [{"from_ft": 0.0, "to_ft": 40.0, "from_board": 2, "to_board": 38,
                       "volume_ml": 25.0, "shares": dict.fromkeys(laid, 1.0 / len(laid))}],
            "readings": readings(lane, condition.bands), "condition": condition, "stops": 90.0, "stops_se": 1.0,
            "stops_cause": "pins",
        })  # fmt: skip
        averages.append(165.0 - 2.0 * k * two)
        happy.append(np.where(two, float(k == 0), 1.0))
    averages.append(np.full(n, 164.0))
    happy.append(np.ones(n))
    paired = {
        "style": style, "averages": np.array(averages), "happy": np.array(happy),
        "pair_of": np.repeat(np.arange(8), 4),
    }  # fmt: skip
    tried = pd.DataFrame([
        {"family": f, "trial": t, "oils": " + ".join(o), "length_ft": 40.0, "volume_ml": 25.0,
         "ratio_right": 5.0, "ratio_left": 5.0, "cost": 0.2, "kept_happy": 0.5, **LOOKS}
        for f, o in kinds.items() for t in (1, 2)
    ])  # fmt: skip
    result = TuneResult(
        "Long Hall", True, "EUR", goal, 1, list(kinds), _blend_less_single(best, paired, 1), best,
        {**LOOKS, "kept_happy": 1.0}, tried, _differences(best, paired, 1), [], ["A note."],
    )  # fmt: skip
    result.answer.extend(sentences(result))
    return result


@pytest.fixture(scope="module")
def page():
    return tune_page(tuned())


def charts(page):
    return json.loads(re.search(r'id="page-data">(.*?)</script>', page, re.DOTALL)[1])


def table_of(page, caption):
    part = page[page.index(f"<caption>{caption}") :]
    return part[: part.index("</table>")].replace("\u00a0", " ")


def test_whether_blending_helped_for_whom_and_by_how_much(page):
    told = " ".join(tuned().answer)
    assert "Best of each kind, equal budgets" in told
    assert (
        "Blending helped: +50 points of kept happy against the best single oil of the search (amber) "
        "(+50 to +50" in told
    )
    assert "two-handed +100 points (+100 to +100), +2.0 pins (+2.0 to +2.0)" in told
    assert "found none" not in told
    assert (
        "Against the best shear-thinning oil (slate): +50 points (+50 to +50), +2.0 pins (+2.0 to +2.0)"
        in told
    )
    assert "The best blend (g_1) less the best shear-thinning oil (g_3)" in page
    found = tuned()
    worse = [{**d, "average": -d["average"], "kept_happy": -d["kept_happy"], "average_low": -d["average_high"],
              "average_high": -d["average_low"], "kept_happy_low": -d["kept_happy_high"],
              "kept_happy_high": -d["kept_happy_low"]} for d in found.blending]  # fmt: skip
    other = " ".join(sentences(replace(found, blending=worse)))
    assert "Blending did not help: -50 points" in other
    assert "which is not that there is none" in other
    assert "two-handed -100 points (-100 to -100), -2.0 pins (-2.0 to -2.0)" in other
    assert "No difference is shown, or there are too few to tell: straight." in told
    assert "The same budget for every kind: 2 blend, 2 plain, 2 shear-thinning" in page
    assert "The search saw these very bowlers" in page
    rows = table_of(page, "The best blend (g_1) less the best single oil (g_2)")
    assert rows.count('data-style="two-handed"') == 1
    assert "two_handed" not in page[page.index("<main") : page.index('id="manifest"')]


def test_the_first_line_says_whether_anything_is_shown_to_serve_more_bowlers():
    found = tuned()

    def first(low, high):
        rows = [
            {**d, "kept_happy_low": low, "kept_happy_high": high}
            if d["other"] == "today" and d["who"] == "everybody" else d
            for d in found.differences
        ]  # fmt: skip
        return sentences(replace(found, differences=rows))[0]

    assert first(0.05, 0.2).startswith("The best of the search is shown to serve more bowlers")
    assert first(-0.05, 0.2).startswith("Nothing that was tried is shown to serve more bowlers")
    assert first(-0.2, -0.05).startswith("Nothing that was tried serves more bowlers")
    assert first(float("nan"), float("nan")).startswith("Nothing that was tried is shown")
    ratio = max(found.best[0]["ratio_right"], found.best[0]["ratio_left"])
    assert f"crosswise ratio {ratio:.1f}:1 at its largest from 10 to 30 ft" in first(0.05, 0.2)


def test_the_choice_of_style_drives_chart_and_tables(page):
    assert '<fieldset class="picker"' in page
    assert 'value="two-handed"' in page
    told = charts(page)
    assert "picked" in json.dumps({**told["charts"]["gains"]["spec"], "params": []})
    assert {r["style"] for r in told["data"]["gains"]} == {"", "straight", "two-handed"}
    first = page.index("<caption>Winner less today")
    assert first < page.index("<caption>Winner less g_2")


def test_what_the_goal_is_about_stands_beside_what_it_was_when_searched(page):
    rows = table_of(page, "The best and today")
    heads = re.findall(r'<th scope="col"[^>]*>(.*?)</th>', rows)
    assert heads[heads.index("kept happy") + 1] == "when searched"
    winner = re.findall(r"<td[^>]*>(.*?)</td>", rows[rows.index("winner") :])
    assert "100 %" in winner
    assert "88 %" in winner


def test_the_verdict_has_its_interval():
    assert verdict(tuned()).startswith("Verdict: that it keeps more or fewer people happy is not")


def test_the_verdict_on_a_target_says_first_whether_it_is_reached():
    found = tuned()

    def at(target):
        return verdict(replace(found, goal=Goal("g", "average", target=target)))

    near = found.best[0]["average"] + 1.0
    assert at(near).startswith(
        "Verdict: the target is reached, 1.0 pins off (1.5 allowed); that it keeps"
    )
    assert at(near + 5.0).startswith("Verdict: the target is not reached, 6.0 pins off")


def test_tapes_are_read_away_from_ends_of_bands_and_near_the_end_of_the_oil():
    """Half a foot either way must not be another reading: where there is room, a foot from any end."""
    for length in (34.0, 40.0, 46.0):
        bands = condition_of("g", "t", Recipe(length, 25.0, 5.0, 0.9, ("amber",)), Machine()).bands
        tapes = tapes_ft(bands)
        assert len(tapes) == 4
        assert tapes == sorted(tapes)
        assert length - 6.0 <= tapes[-1] < length - 1.0
        ends = {x for b in bands for x in (b.from_ft, b.to_ft)}
        assert all(abs(t - end) >= 0.5 for t in tapes for end in ends)
    plain = (Band(0.0, 40.0, 1, 39, 20.0, (("amber", 1.0),)),)
    assert all(min(abs(t - 0.0), abs(t - 40.0)) >= 1.0 for t in tapes_ft(plain))


def test_conditions_beyond_the_limit_on_stops_are_no_candidates():
    goal = Goal("g", "kept-happy", limits=Limits(stops_high=100.0))
    rows = [{"stops": 99.0}, {"stops": 100.0}, {"stops": 100.1}]
    assert within(goal, rows) == rows[:2]
    assert within(Goal("g"), rows) == rows
    found = tuned(100.0)
    lacking = sentences(TuneResult(**{**vars(found), "best": found.best[1:], "blending": []}))
    assert "No condition tried of the kind blend keeps to the limit on machine stops." in lacking


def test_a_tournament_tells_its_method_and_how_its_intervals_cover():
    figure = {"value": 1.0, "low": 0.5, "high": 1.5}
    names = (
        "field_average", "field_sd", "cut_score", "best_all_make_cut", "best_share_making_cut",
        "rank_correlation", "late_less_early_squad", "best_leads", "start_pair_sd",
    )  # fmt: skip
    entrants = pd.DataFrame({
        "bowler": ["Ann <b>", "Bea"], "style": list(STYLES), "hand": ["left", "right"],
        "average": [170.0, 160.0], "skill": [170.0, 160.0], "skill_se": [1.0, 1.0],
        "makes_cut": [0.7, 0.3],
    })  # fmt: skip
    groups = pd.DataFrame([{
        "kind": "style", "group": s, "entries": 1, "share_of_cut": 0.5, "selection_ratio": 1.0,
        "ratio_low": 0.9, "ratio_high": 1.1, "people_low": None, "people_high": None,
    } for s in STYLES])  # fmt: skip
    result = TournamentResult(
        "Long Hall", True, Tournament("t", "Open", entrants=2, cut=1), 1, 64,
        {**dict.fromkeys(names, figure), "reliability": {"6": 0.8}, "reliability_of_a_game": 0.5},
        entrants, groups, ["A note."],
    )  # fmt: skip
    page = tournament_page(result)
    method = page[page.index('<section id="method"') :]
    method = method[: method.index("</section>")].replace("\u00a0", " ")
    for span in ("this_field", "people_like_these"):
        assert ends(coverage(span)) in method
    assert "Finalists bowl their ladder on fresh oil" in method
    assert "A note." not in method
    assert "Ann <b>" not in page
