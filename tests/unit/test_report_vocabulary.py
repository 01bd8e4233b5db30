"""Every column head and axis title is plain or explained; no legend has more than seven entries."""

import html
import json
import re
from collections.abc import Iterable
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest
from pydantic import BaseModel

from leaguesim import tables
from leaguesim.center import models, models_play, populations, tournament_models
from leaguesim.center.keys import File
from leaguesim.report.vocabulary import COLUMN_WORDS, GLOSSARY, PLAIN, is_known, used_in

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


def file_words() -> set[str]:
    """Every word that glossary, plain words and the words of files explain."""
    text = " ".join([*(f"{term} {meaning}" for term, meaning in GLOSSARY), *PLAIN]).lower()
    return set(re.findall("[a-z]+", text)) | set(COLUMN_WORDS)


def strange(names: Iterable[str]) -> dict[str, str]:
    """Words in names of columns or keys that nothing explains, with a name that has them."""
    known = file_words()
    return {
        word: name
        for name in names
        for word in re.findall("[a-z]+", name.lower())
        if not {word, word + "s", word.removesuffix("s")} & known
    }


def declared_columns() -> list[str]:
    """The columns of every table that leaves the package, whatever module declares them."""
    modules = [import_module(f"leaguesim.tables.{m.name}") for m in iter_modules(tables.__path__)]
    found = [t for m in modules for k, t in vars(m).items() if k.isupper() and isinstance(t, dict)]
    return [name for table in found for name in table]


def key_models() -> list[type[BaseModel]]:
    """Every table of keys that a file of a center may hold, reached from the files themselves."""
    found: dict[str, type[BaseModel]] = {}
    for module in (models, models_play, tournament_models, populations):
        for kind in vars(module).values():
            if isinstance(kind, type) and issubclass(kind, File) and kind is not File:
                found[kind.__name__] = kind
    return list(found.values())


def test_words_of_columns_are_in_the_vocabulary():
    names = declared_columns()
    assert {"p_equivalence", "session", "unknown_sd", "change_se"} <= set(
        names
    )  # of several modules
    assert strange(names) == {}
    assert strange(["zorp_se", "average_now"]) == {"zorp": "zorp_se"}


@pytest.mark.parametrize(
    "folder", [REPORTS, Path(__file__).parents[2] / "profiles"], ids=lambda p: p.name
)
def test_words_of_csv_heads_are_in_the_vocabulary(folder):
    heads = {
        p: p.read_text(encoding="utf-8").partition("\n")[0] for p in sorted(folder.rglob("*.csv"))
    }
    assert heads
    assert {str(p): s for p, line in heads.items() if (s := strange(line.split(",")))} == {}


def test_words_of_keys_of_a_center_are_in_the_vocabulary():
    kinds = key_models()
    assert {"CenterFile", "StyleFile", "GoalFile", "MachineTable", "PopulationFile"} <= {
        k.__name__ for k in kinds
    }
    assert strange(f.alias or name for k in kinds for name, f in k.model_fields.items()) == {}


UNITS = re.compile(
    r"(?:_(?:ft|ml|mph|rpm|deg|lb|in|uin|um|units|pins|boards?|mpas|mpa|c|per_s|per_10f|ml)|"
    r"percent|share|ratio|factor|correlation|number|affinity|absorption|left_behind|"
    r"lanes|lanes_oiled_per_week)$|^ratio_"
)
COUNTED = re.compile(
    r"\[[^\]]+\]|\b(?:shares?|how many|multiple|times|log|logarithm|weeks?|nights?|games?|balls?|pins|"
    r"degrees|average|constant|weight|roughness heights|price|points|entrants|conditions|bowlers|squads?|"
    r"best of|places|hits|against that on|tanks|fewest|lanes)\b",
    re.IGNORECASE,
)


def numbers_without_unit() -> list[str]:
    """Keys of numbers that neither their name, their limits nor their meaning gives a unit."""
    left = []
    for kind in key_models():
        for name, told in kind.model_fields.items():
            words = [m for m in told.metadata if hasattr(m, "ge") or hasattr(m, "gt")]
            limits = (told.json_schema_extra or {}).get("words", {}).get("allowed", "")
            if not words and not limits.startswith(("a number", "a whole number")):
                continue
            unit = re.search(r" to [\d.e+]+ \S", limits)
            if not (UNITS.search(name) or unit or COUNTED.search(told.description or "")):
                left.append(f"{kind.__name__}.{name}: {told.description} {limits}")
    return left


def test_every_number_in_a_file_says_its_unit():
    assert numbers_without_unit() == []


def test_words_of_files_say_something():
    assert all(len(meaning) > 3 for meaning in COLUMN_WORDS.values())
