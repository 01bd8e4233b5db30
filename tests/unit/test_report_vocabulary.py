"""Every column head and axis title is plain or explained; no legend has more than seven entries."""

import html
import json
import re
from pathlib import Path

import pytest

from leaguesim.report.vocabulary import GLOSSARY, is_known, used_in

REPORTS = Path(__file__).parents[2] / "reports"
SAMPLES = sorted(REPORTS.glob("sample-*/page.html"))
MOST = 7


def data_of(page: str) -> dict:
    found = re.search(r'id="page-data">(.*?)</script>', page, re.S)
    return json.loads(found[1]) if found else {"charts": {}}


def titles(node) -> set[str]:
    """Titles of axes, legends and tooltips in a chart."""
    if isinstance(node, list):
        return set().union(*map(titles, node))
    if not isinstance(node, dict):
        return set()
    mine = {node["title"]} if "field" in node and isinstance(node.get("title"), str) else set()
    return mine | titles(list(node.values()))


def heads(page: str) -> set[str]:
    cells = re.findall(r'<th scope="col"[^>]*>(.*?)</th>', page)
    return {html.unescape(re.sub("<.*?>", "", c)).replace("\u00a0", " ") for c in cells}


def unknown_words(page: str) -> list[str]:
    words = heads(page) | titles(data_of(page)["charts"])
    return sorted(w for w in words if w and not is_known(w))


@pytest.fixture(params=[None, *SAMPLES], ids=lambda p: "made up" if p is None else p.parent.name)
def page(request, made_up_page) -> str:
    return made_up_page if request.param is None else request.param.read_text(encoding="utf-8")


def test_every_head_and_axis_is_plain_or_in_the_glossary(page):
    assert unknown_words(page) == []


def test_a_page_explains_the_terms_it_uses(page):
    shown = {html.unescape(t).replace("\u00a0", " ") for t in re.findall("<dt>(.*?)</dt>", page)}
    body = page[page.index("<main") : page.index('id="glossary"')]
    text = html.unescape(re.sub("<[^>]*>", " ", body)).replace("\u00a0", " ")
    assert {term for term, _ in used_in(text)} <= shown


def test_the_made_up_word_is_unknown():
    assert not is_known("zorp")
    assert unknown_words('<th scope="col">zorp</th>') == ["zorp"]


def test_terms_are_in_order_with_a_meaning():
    terms = [term for term, _ in GLOSSARY]
    assert terms == sorted(terms)
    assert all(len(meaning) > 10 for _, meaning in GLOSSARY)


def legends(page: str) -> dict[str, int]:
    """The most entries that one legend of each chart shows in its static picture."""
    pictures = re.findall(r'id="chart-([\w-]+)"><svg(.*?)</svg>', page, re.S)
    return {
        key: max(
            (part.count("role-legend-symbol") for part in svg.split('role-legend"')[1:]), default=0
        )
        for key, svg in pictures
    }


def test_no_legend_has_more_than_seven_entries(page):
    found = legends(page)
    assert len(found) == len(data_of(page)["charts"])
    assert {k: n for k, n in found.items() if n > MOST} == {}


def test_legends_are_counted(made_up_page):
    assert legends(made_up_page)["kept"] >= 3


def test_heads_of_what_is_not_known_are_explained():
    from leaguesim.report import forecastpage

    told = (*forecastpage._HEAD, *forecastpage._HONOUR_HEAD)
    assert [w for w in told if not is_known(w)] == []
