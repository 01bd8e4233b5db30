"""Pages, tables and text of results; nothing is computed here."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from leaguesim.report.csvfiles import compare_csv, lane_csv
    from leaguesim.report.export import page_charts
    from leaguesim.report.lanepage import lane_page
    from leaguesim.report.page import compare_page
    from leaguesim.report.terminal import compare_text, lane_text

__all__ = [
    "compare_csv",
    "compare_page",
    "compare_text",
    "lane_csv",
    "lane_page",
    "lane_text",
    "page_charts",
]

_HOME = {
    "compare_csv": "csvfiles",
    "lane_csv": "csvfiles",
    "compare_page": "page",
    "lane_page": "lanepage",
    "compare_text": "terminal",
    "lane_text": "terminal",
    "page_charts": "export",
}


def __getattr__(name: str) -> Any:
    if name in _HOME:
        return getattr(import_module(f"leaguesim.report.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
