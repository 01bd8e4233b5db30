"""The offline page as text: policy, escaping, landmarks, static pictures, size."""

import base64
import dataclasses
import hashlib
import json
import re
from html.parser import HTMLParser

import pytest

VOID = {"meta", "input", "br", "link", "hr", "img"}


class Outline(HTMLParser):
    """Collects tags and checks that they close in order (outside SVG, which is XML)."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def outline(made_up_page) -> Outline:
    parser = Outline()
    parser.feed(made_up_page)
    assert parser.open == []
    return parser


def page_data(page: str) -> dict:
    found = re.search(r'<script type="application/json" id="page-data">(.*?)</script>', page, re.S)
    assert found is not None
    return json.loads(found[1])


def test_policy_forbids_the_network_and_names_scripts_by_hash(made_up_page):
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', made_up_page)[1]
    assert "default-src 'none'" in policy
    assert "connect-src" not in policy
    assert "http" not in policy
    scripts = re.findall(r"<script>(.*?)</script>", made_up_page, re.S)
    assert len(scripts) == 2
    for script in scripts:
        digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy
        assert script.startswith("(() => {")


def test_nothing_is_fetched(outline):
    for tag, attributes in outline.seen:
        assert tag not in {"link", "img", "iframe", "object"}, tag
        assert not str(attributes.get("src") or "").startswith("http")
        assert not str(attributes.get("href") or "#").startswith("http")


def test_awkward_names_are_text_everywhere(made_up_page):
    assert "</script><b>Bo</b>" not in made_up_page
    assert "&lt;/script&gt;&lt;b&gt;Bo&lt;/b&gt;" in made_up_page
    names = {row["bowler"] for row in page_data(made_up_page)["data"]["bowlers"]}
    assert "</script><b>Bo</b>" in names  # read back from JSON it is the name again


def test_landmarks_headings_and_labels(outline):
    tags = [tag for tag, _ in outline.seen]
    assert {"header", "main", "nav", "footer", "h1"} <= set(tags)
    assert tags.count("h1") == 1
    html = next(attributes for tag, attributes in outline.seen if tag == "html")
    assert html["lang"] == "en"
    ids = [a["id"] for tag, a in outline.seen if "id" in a and tag != "clipPath"]
    named = [i for i in ids if i and not i.startswith(("clip", "gradient"))]
    assert len(named) == len(set(named))
    for tag, attributes in outline.seen:
        if tag == "figure":
            assert attributes["aria-labelledby"] in named


def test_every_chart_has_a_static_picture_and_a_live_one(made_up_page, made_up):
    charts = page_data(made_up_page)["charts"]
    assert len(charts) == 26 + len(made_up.STYLES)
    for key in charts:
        assert re.search(rf'id="chart-{key}"><svg [^>]*viewBox', made_up_page), key
    wanted = {"bowlers", "groups", "kept", "stability", "night", "strike-rate", "game-sd"}
    wanted |= {"film-now", "film-next", "friction-now", "friction-next", "friction-change"}
    assert wanted <= set(charts)


def test_one_choice_drives_every_chart(made_up_page):
    for key, chart in page_data(made_up_page)["charts"].items():
        params = [p["name"] for p in chart["spec"].get("params", [])]
        assert params == ["picked"], key


@pytest.mark.slow
def test_specs_follow_the_grammar(made_up):
    """Pages are built without checking each piece; here every chart is checked whole."""
    import altair as alt

    from leaguesim.report.page import compare_drawn

    for part in compare_drawn(made_up.compare(count=10)):
        for drawn in part:
            alt.LayerChart.from_dict(drawn.figure.spec, validate=True)


def test_colours_say_the_same_as_words(made_up_page):
    spec = page_data(made_up_page)["charts"]
    text = json.dumps(spec)
    assert '"viridis"' in text
    assert '"cividis"' in text
    fill = next(
        layer["encoding"]["fill"]["scale"]
        for layer in spec["friction-change"]["spec"]["layer"]
        if "fill" in layer.get("encoding", {})
    )
    assert fill["domain"][0] == -fill["domain"][1]


def test_light_enough(made_up_page):
    assert len(made_up_page.encode()) < 2_500_000


def test_says_what_it_must(made_up_page, made_up):
    from leaguesim.report.texts import CAUTIONS, NOT_A_FORECAST, TWO_INTERVALS

    for words in (NOT_A_FORECAST, TWO_INTERVALS, *CAUTIONS, *made_up.compare().notes):
        assert words in made_up_page.replace("&lt;", "<").replace("&amp;", "&")
    assert "This center is invented" in made_up_page
    body = made_up_page[made_up_page.index("<body>") :]
    assert body.index("League average falls") < body.index('id="figure-bowlers"')


def test_lane_page(made_up):
    from leaguesim.report import lane_page

    page = lane_page(made_up.lane())
    carry = {"carry-strikes", "carry-leaves", "carry-corners", "carry-off-spot"}
    fans = {f"fan-{k}" for k in range(len(made_up.STYLES))} | {"miss-room"}
    worn = {"worn-1", "worn-2"}
    assert set(page_data(page)["charts"]) == {"film", "friction"} | carry | fans | worn
    assert "Crosswise ratio" in page
    assert "outside dry" in page
    assert len(page.encode()) < 2_500_000


def test_a_single_style_and_unknown_figures_still_make_a_page(made_up):
    import dataclasses

    from leaguesim.report import compare_page, compare_text

    result = made_up.compare(count=5)
    one = result.bowlers.assign(style="stroker")
    for column in ("corner_rate_now", "spare_rate_next", "game3_now", "change_se"):
        one[column] = float("nan")
    one["kept_happy_now"] = one["kept_happy_now"].mask([True] * 5)
    league = dict.fromkeys(result.league)
    group = made_up.group(one.assign(kept_happy_now=True), one["style"])
    groups = {"style": group.assign(change_low=float("nan"), kept_happy_now=float("nan"))}
    bare = dataclasses.replace(
        result, bowlers=one, groups=groups, league=league, stability=[], invented=False, notes=[]
    )
    page = compare_page(bare)
    assert "NaN" not in page[page.index("<body>") : page.index("<script")]
    from rich.console import Console

    compare_text(bare, Console(quiet=True))


def test_film_has_one_scale_on_every_page(made_up, made_up_page):
    from leaguesim.report import lane_page

    domains = []
    for page in (made_up_page, lane_page(made_up.lane())):
        for key, chart in page_data(page)["charts"].items():
            if key.startswith("film"):
                fills = [x["encoding"]["fill"]["scale"] for x in chart["spec"]["layer"]
                         if "fill" in x.get("encoding", {})]  # fmt: skip
                domains += [(scale["domain"], scale["clamp"]) for scale in fills]
    assert domains == [([0, 80.0], True)] * 3


def test_no_two_groups_look_alike():
    """Colours far apart by eye (CIE Lab), shapes all different."""
    from itertools import combinations

    from leaguesim.report.theme import group_looks

    looks = group_looks([str(k) for k in range(8)])
    assert len({look.shape for look in looks}) == 8
    labs = [lab(look.colour) for look in looks]
    least = min(sum((a - b) ** 2 for a, b in zip(*two, strict=True)) ** 0.5
                for two in combinations(labs, 2))  # fmt: skip
    assert least > 25.0


def lab(colour: str) -> list[float]:
    """CIE Lab of an sRGB colour, white D65 (IEC 61966-2-1 and CIE 15)."""
    channels = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089
    fx, fy, fz = (t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116 for t in (x, y, z))
    return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)]


def test_the_first_weeks_have_a_section_of_their_own(made_up, made_up_page):
    """With its words, both tables and the steps; a result without them has none of it."""
    from dataclasses import replace

    from leaguesim.report import compare_page

    for words in ("The first weeks", "Directional figures", "boards or more to move",
                  "Week by week", "What it asks of every bowler", "step by step",
                  "By game of the night"):  # fmt: skip
        assert words in made_up_page, words
    result = made_up.compare(count=10)
    groups = result.switch.groups[result.switch.groups["way"] == "jump"]
    alone = replace(result.switch, sequence=None, steps=(), groups=groups)
    told = compare_page(replace(result, switch=alone))
    assert "step by step" not in told
    assert "What it asks of every bowler" in told
    without = compare_page(replace(result, switch=None, games_table=None))
    assert 'id="weeks"' not in without
    assert 'href="#weeks"' not in without
    assert "By game of the night" not in without


def test_two_charts_cannot_call_different_rows_alike(made_up):
    """Rows are written once a page by name: a name taken twice would draw one chart wrong."""
    from dataclasses import replace

    from leaguesim.report import charts
    from leaguesim.report.figures import live_specs

    figure = charts.night_chart(made_up.compare())
    other = replace(figure, key="other", data={"night": [{"game": 9}]})
    assert set(live_specs([figure, replace(figure, key="again")])["charts"]) == {"night", "again"}
    with pytest.raises(ValueError, match="chart other: other rows are called 'night' already"):
        live_specs([figure, other])


def test_kept_happy_leaves_out_an_interval_that_is_not_told(made_up):
    from leaguesim.report import compare_page

    result = made_up.compare()
    assert "people like these, 95 %: 41" in compare_page(result).replace("\u00a0", " ")
    gone = {f"kept_happy_{w}_{s}": None for w in ("now", "next") for s in ("low", "high")}
    page = compare_page(dataclasses.replace(result, league={**result.league, **gone}))
    assert "people like these, 95 %:" not in page
