"""Every page is built alike: answer, pictures, tables, method, assumptions, what would change it, cautions."""

import html
import json
import re
from importlib import import_module
from pathlib import Path

import pytest

REPORTS = Path(__file__).parents[2] / "reports"
OF_CODE = (
    "page",
    "lanepage",
    "surfacespage",
    "fitpage",
    "fairnesspage",
    "tunepage",
    "tournamentpage",
)
LAST = ["unknown", "turn", "cautions", "glossary", "manifest"]
SAMPLES = sorted(REPORTS.glob("sample-*/page.html"))
CAUTIONED = ("safety data sheet", "approach", "licensed", "maker", "local codes")
SPAN = re.compile(r"95 %|standard deviation|\d[^.]*? to [+\u2212]?\d|\d+ of \d+|between")


def words(markup: str) -> str:
    return html.unescape(re.sub("<[^>]*>", " ", markup)).replace("\u00a0", " ")


def sections(page: str) -> list[tuple[str, str]]:
    """Key and markup of each titled section, in order."""
    return re.findall(r'<section id="([^"]*)"[^>]*>(.*?)</section>', page, re.DOTALL)


@pytest.mark.parametrize("name", OF_CODE)
def test_the_last_sections_are_the_same_on_every_page(name):
    keys = list(import_module(f"leaguesim.report.{name}").SECTIONS)
    assert keys[-len(LAST) :] == LAST
    if "method" in keys:
        assert keys.index("method") == len(keys) - len(LAST) - 1


def test_the_page_of_checks_ends_alike():
    from leaguesim.report import checkspage

    assert list(checkspage.LAST) == ["method", *LAST[:-1]]


def test_a_comparison_has_them_all_in_order(made_up_page):
    found = dict(sections(made_up_page))
    assert list(found)[-len(LAST) - 1 :] == ["method", *LAST]
    told = words(found["turn"])
    assert "More of the same nights" in told or "More nights" in told
    assert "two standard errors of a threshold" in told


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.parent.name)
def test_a_sample_answers_first_and_explains_last(path):
    page = path.read_text(encoding="utf-8")
    main = page[page.index("<main") : page.index("</main>")]
    answer = main[: main.index("</section>")]
    assert 'class="answer"' in answer
    assert re.search(r'class="headline">[^<]*\d', answer)
    found = sections(main)
    if "turn" in dict(found):  # made since pages say what would change their answer
        assert SPAN.search(words(answer)), words(answer)
    keys = [key for key, _ in found]
    order = [key for key in keys if key in ("method", *LAST)]
    assert order == [key for key in ("method", *LAST) if key in keys]
    assert {"cautions", "glossary", "manifest"} <= set(keys)
    explained = min(keys.index(key) for key in ("method", "unknown") if key in keys)
    assert not [key for key, inner in found[explained:] if "<figure" in inner]
    assert [key for key, inner in found[:explained] if "<table" in inner]
    cautions = words(dict(found)["cautions"])
    assert [word for word in CAUTIONED if word not in cautions] == []
    if "manifest" in keys:
        told = re.search(r"<pre>(.*?)</pre>", dict(found)["manifest"], re.DOTALL)
        assert told
        assert json.loads(html.unescape(told[1]))["schema"].startswith("leaguesim.manifest/")


def charts_of(page: str) -> dict:
    found = re.search(r'id="page-data">(.*?)</script>', page, re.DOTALL)
    return json.loads(found[1]) if found else {"charts": {}, "data": {}}


def deaf(page: str) -> list[str]:
    """Charts with rows of several styles that neither follow the choice nor are hidden by it."""
    told = charts_of(page)
    hidden = set(re.findall(r'<figure[^>]*id="figure-([^"]*)"[^>]*data-group=', page))
    styled = {name for name, rows in told["data"].items() if any("style" in row for row in rows)}
    return [
        key
        for key, chart in told["charts"].items()
        if styled & set(chart["data"])
        and key not in hidden
        and "picked" not in json.dumps({**chart["spec"], "params": []})
    ]


def test_every_chart_that_knows_styles_follows_the_choice(made_up_page, made_up):
    from leaguesim.report import lane_page

    assert deaf(made_up_page) == []
    assert deaf(lane_page(made_up.lane())) == []
    spec = '{"charts":{"x":{"spec":{},"data":["d"]}},"data":{"d":[{"style":"a"}]}}'
    assert deaf(f'<script id="page-data">{spec}</script>') == ["x"]
