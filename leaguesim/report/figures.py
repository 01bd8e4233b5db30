"""A figure of a page: a chart with its words, drawn once as static SVG and again by the script.

Does not decide what is drawn.  The static picture stands in the page from the start; the script
replaces it when scripts are on.
"""

import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from leaguesim.compiled import cache_folder
from leaguesim.report.markup import Markup, tag
from leaguesim.report.theme import ALL, config

Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class Figure:
    """One chart.

    ``spec`` is Vega-Lite without data; ``data`` maps the names of data sets that it uses to rows.
    ``about`` is the sentence under the title and the chart's text for those who can't see it.
    ``group`` is the one style it is about, if any.
    """

    key: str
    title: str
    about: str
    spec: dict[str, Any]
    data: dict[str, Rows] = field(repr=False)
    wide: bool = True
    group: str | None = None

    @property
    def names(self) -> list[str]:
        """Names of the data sets that the chart reads."""
        return sorted(self.data)


def specification(
    chart: Any, about: str, *, width: int, height: int | dict[str, int]
) -> dict[str, Any]:
    """The Vega-Lite dictionary of an Altair chart: size, description, the page-wide choice of style.

    ``height`` may be {"step": pixels a row}.
    """
    spec: dict[str, Any] = chart.to_dict(validate=False, context={"pre_transform": False})
    spec.pop("config", None)
    choice = {"name": "picked", "value": ALL}
    return {**spec, "width": width, "height": height, "description": about, "params": [choice]}


@contextmanager
def unchecked() -> Iterator[None]:
    """Build charts without checking each piece against the grammar: tests do, users need not wait."""
    from altair.utils.schemapi import debug_mode

    with debug_mode(False):
        yield


@lru_cache(maxsize=1)
def grammar_version() -> str:
    """The Vega-Lite version that both Altair and the renderer know, such as "6.4"."""
    import altair

    return ".".join(altair.SCHEMA_VERSION.lstrip("v").split(".")[:2])


def full(figure: Figure) -> dict[str, Any]:
    """The chart with its data, as a renderer wants it."""
    return {**figure.spec, "datasets": figure.data, "config": config()}


def svg(figure: Figure) -> str:
    """The static picture; its ink follows the page's text colour."""
    import vl_convert

    picture: str = vl_convert.vegalite_to_svg(full(figure), vl_version=grammar_version())
    return _light(picture)


_TAG = re.compile(r"<[^<>]*>")
_IDLE = re.compile(
    r' (?:font-family="[^"]*"|opacity="1"|pointer-events="none"|stroke-miterlimit="10")'
)
_LONG = re.compile(r"(\d\.\d\d)\d+")
_WAY = re.compile(r' d="[^"]*"')
_TENTHS = re.compile(r"(\d\.\d)\d+")


def _light(picture: str) -> str:
    """The same picture in fewer bytes: two decimals (one along a way), the page's own font, no idle attributes."""
    short = _TAG.sub(lambda tag: _LONG.sub(r"\1", _IDLE.sub("", tag[0])), picture)
    return _WAY.sub(lambda way: _TENTHS.sub(r"\1", way[0]), short)


def png(figure: Figure, scale: float = 2.0) -> bytes:
    """The chart as PNG on white."""
    import vl_convert

    spec = full(figure)
    spec["config"] = {**config(), "background": "white"}
    picture: bytes = vl_convert.vegalite_to_png(spec, vl_version=grammar_version(), scale=scale)
    return picture


@lru_cache(maxsize=1)
def _artist() -> ThreadPoolExecutor:
    """The one background thread that draws; the renderer releases the interpreter's lock."""
    return ThreadPoolExecutor(1, thread_name_prefix="leaguesim-draw")


@lru_cache(maxsize=1)
def _bundling() -> "Future[str]":
    return _artist().submit(_bundle)


def _bundle() -> str:
    """Put the libraries together, or take them from beside the compiled kernels (saves seconds)."""
    folder = cache_folder()
    kept = (
        folder / f"drawing-{version('vl-convert-python')}-{grammar_version()}.js"
        if folder
        else None
    )
    if kept is not None and kept.is_file():
        return kept.read_text(encoding="utf-8")
    import vl_convert

    make: Any = vl_convert.javascript_bundle  # its stub asks for an argument that it does not need
    script: str = make(vl_version=grammar_version())
    if kept is not None:
        _keep(kept, script)
    return script


def _keep(path: Path, script: str) -> None:
    """Write it whole or not at all; a cache that can't be written is no reason to fail."""
    whole = path.with_suffix(f".{os.getpid()}")
    try:
        whole.write_text(script, encoding="utf-8")
        whole.replace(path)
    except OSError:
        with suppress(OSError):
            whole.unlink()


def warm_up() -> None:
    """Start putting the drawing libraries together while something else is computed."""
    _bundling()


def bundle() -> str:
    """The drawing libraries as one script, to be wrapped in a function by the page."""
    return _bundling().result()


@dataclass(frozen=True)
class Drawn:
    """A figure whose static picture is being drawn in the background."""

    figure: Figure
    picture: "Future[str]"


def draw(figures: Iterable[Figure]) -> list[Drawn]:
    """Draw figures in the background, each as soon as it is made."""
    return [Drawn(figure, _artist().submit(svg, figure)) for figure in figures]


def gallery(drawn: Iterable[Drawn]) -> Markup:
    """Figures side by side where there is room, each with its static picture inside."""
    return tag("div", [_figure_html(d.figure, d.picture.result()) for d in drawn], class_="figures")


def _figure_html(figure: Figure, picture: str) -> Markup:
    return tag(
        "figure",
        tag("h3", figure.title, id=f"title-{figure.key}"),
        tag("p", figure.about, class_="about"),
        tag("div", Markup(picture), class_="chart", id=f"chart-{figure.key}"),
        class_="figure wide" if figure.wide else "figure",
        id=f"figure-{figure.key}",
        aria_labelledby=f"title-{figure.key}",
        data_group=figure.group,
    )


def live_specs(figures: Sequence[Figure]) -> dict[str, Any]:
    """What the page's script needs: every data set once, every chart by key, the configuration.

    Raises
    ------
    ValueError : two charts mean different rows by one name; one of them would be drawn wrong
    """
    data: dict[str, Rows] = {}
    charts: dict[str, Mapping[str, Any]] = {}
    for figure in figures:
        for name, rows in figure.data.items():
            if data.setdefault(name, rows) != rows:
                raise ValueError(f"chart {figure.key}: other rows are called {name!r} already")
        spec = dict(figure.spec)
        spec.pop("$schema", None)
        charts[figure.key] = {"spec": spec, "data": figure.names}
    return {"config": config(), "data": data, "charts": charts}
