"""A whole offline page: head, policy, style, scripts, landmarks around what a report gives.

Does not know what the report says.  The policy forbids every request; the scripts are named by
their hashes, so text that slipped into the page as a script would not run.
"""

import base64
import hashlib
import html
import json
import re
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from leaguesim.report.figures import Figure, bundle, live_specs
from leaguesim.report.markup import Markup, join, tag
from leaguesim.report.theme import ALL, GroupLook
from leaguesim.report.vocabulary import used_in


@cache
def asset(name: str) -> str:
    """A file of ``report/assets``."""
    return files("leaguesim.report").joinpath("assets", name).read_text(encoding="utf-8")


def wrapped(script: str) -> str:
    """A script in a function of its own, so that its names meet nobody else's."""
    return "(() => {\n" + script.replace("</script", "<\\/script") + "\n})();"


def script_hash(script: str) -> str:
    """How a content security policy names a script."""
    digest = hashlib.sha256(script.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def safe_json(value: Any) -> Markup:
    """JSON that can stand inside a script element whatever the names in it are."""
    words = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for sign, code in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026")):
        words = words.replace(sign, code)
    return Markup(words.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029"))


def section(key: str, title: str, *children: str | Sequence[str] | None) -> Markup:
    """A titled section that the contents list can point to."""
    return tag(
        "section",
        tag("h2", title, id=f"{key}-title"),
        *children,
        id=key,
        aria_labelledby=f"{key}-title",
    )


def contents(sections: Mapping[str, str]) -> Markup:
    """Links to the sections of the page."""
    links = [tag("li", tag("a", title, href=f"#{key}")) for key, title in sections.items()]
    return tag("nav", tag("ul", links), class_="contents", aria_label="On this page")


def picker(looks: Sequence[GroupLook], what: str = "Show on every chart and table") -> Markup:
    """The one choice of style that charts and tables follow; hidden until scripts run.

    Parameters
    ----------
    what : what follows the choice
    """

    def choice(value: str, words: str, colour: str | None, checked: bool) -> Markup:
        spot = tag("span", class_="swatch", style=f"background:{colour}") if colour else None
        box = tag("input", type="radio", name="style", value=value, checked=checked)
        return tag("label", box, spot, words)

    options = [choice(ALL, "all styles", None, True)]
    options += [choice(g.name, g.name, g.colour, False) for g in looks]
    legend = tag("legend", what)
    return tag("fieldset", legend, options, class_="picker", id="picker", hidden=True)


GLOSSARY_HERE = Markup("<!-- glossary -->")
_TAGS = re.compile(r"<[^>]*>")


def glossary() -> Markup:
    """Where the terms that the page uses are put once it is whole."""
    return GLOSSARY_HERE


def _with_glossary(main: Markup) -> Markup:
    """The page with every term it uses and its unit."""
    if GLOSSARY_HERE not in main:
        return main
    terms = used_in(html.unescape(_TAGS.sub(" ", main)).replace("\u00a0", " "))
    entries = [join([tag("dt", term), tag("dd", meaning)]) for term, meaning in terms]
    return Markup(main.replace(GLOSSARY_HERE, tag("dl", entries, class_="glossary")))


def manifest_block(manifest: Mapping[str, Any]) -> Markup:
    """The manifest as it lies in manifest.json, folded away."""
    words = json.dumps(manifest, indent=1, ensure_ascii=False)
    return tag("details", tag("summary", "Everything needed to repeat this run"), tag("pre", words))


def _scripts(figures: Sequence[Figure]) -> tuple[list[Markup], str]:
    """The script elements of a page with charts, and the policy's word for them."""
    libraries, page = wrapped(bundle()), wrapped(asset("page.js"))
    elements = [
        tag("script", safe_json(live_specs(figures)), type="application/json", id="page-data"),
        tag("script", Markup(libraries)),
        tag("script", Markup(page)),
    ]
    return elements, f"{script_hash(libraries)} {script_hash(page)} 'unsafe-eval'"


def document(
    *,
    title: str,
    header: Markup,
    main: Markup,
    figures: Sequence[Figure],
    version: str,
    language: str = "en",
) -> str:
    """The whole page as text.

    Parameters
    ----------
    header, main : contents of the two landmarks
    figures : the figures that stand in ``main``, for the script to draw again; without any
        the page has no script at all
    """
    scripts, allowed = _scripts(figures) if figures else ([], "'none'")
    policy = (
        "default-src 'none'; style-src 'unsafe-inline'; img-src data: blob:; "
        f"script-src {allowed}; base-uri 'none'; form-action 'none'"
    )
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        Markup(f'<meta http-equiv="Content-Security-Policy" content="{policy}">'),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("title", title),
        tag("style", Markup(asset("page.css"))),
    )
    footer = tag(
        "footer", tag("p", f"Made by leaguesim {version}. Nothing on this page is sent anywhere.")
    )
    body = tag(
        "body",
        tag("a", "Skip to the answer", href="#main", class_="skip"),
        tag("header", header),
        tag("main", _with_glossary(main), id="main"),
        footer,
        scripts,
    )
    return f"<!doctype html>\n{tag('html', head, body, lang=language)}\n"
