"""Every chart of a report as files of its own, for a slide or a notice board.

Does not draw anything that is not on the page.
"""

import json
import re
from collections.abc import Sequence

from leaguesim.report.figures import Figure, png, svg

_DATA = re.compile(r'id="page-data">(.*?)</script>', re.DOTALL)


def chart_files(figures: Sequence[Figure]) -> dict[str, bytes | str]:
    """chart-NAME.svg and chart-NAME.png of every figure, in the page's order."""
    files: dict[str, bytes | str] = {}
    for figure in figures:
        files[f"chart-{figure.key}.svg"] = svg(figure)
        files[f"chart-{figure.key}.png"] = png(figure)
    return files


def page_charts(page: str) -> dict[str, bytes | str]:
    """The charts of any page of ours as files, read from the page itself."""
    found = _DATA.search(page)
    told = json.loads(found[1]) if found else {"charts": {}, "data": {}}
    figures = []
    for key, chart in told["charts"].items():
        about = str(chart["spec"].get("description", key))
        rows = {name: told["data"][name] for name in chart["data"]}
        figures.append(Figure(key, key, about, chart["spec"], rows))
    return chart_files(figures)
