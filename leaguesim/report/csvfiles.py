"""Tables as CSV files that spreadsheets open safely.

Does not round: figures are written as they are, shortest form that reads back the same.
"""

import csv
import io
import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.results import CompareResult, LaneResult

RISKY = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would read such a text as a formula


def cell(value: Any) -> str:
    """One cell: texts that look like a formula get a leading apostrophe, unknown figures are empty.

    >>> cell("=1+1"), cell(-2.5)
    ("'=1+1", '-2.5')
    """
    if value is None or type(value).__name__ in {"NAType", "NaTType"}:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(RISKY) else value
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and not math.isfinite(value):
        return ""
    return repr(value) if isinstance(value, float) else str(value)


def csv_text(table: "pd.DataFrame") -> str:
    """A table as CSV text with a header of column names."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    for row in table.itertuples(index=False, name=None):
        writer.writerow([cell(value) for value in row])
    return out.getvalue()


def compare_csv(result: "CompareResult") -> dict[str, str]:
    """The CSV files of a comparison by name."""
    files = {"bowlers.csv": csv_text(result.bowlers)}
    names = {"style": "styles.csv", "hand": "hands.csv", "average band": "average-bands.csv"}
    for kind, table in result.groups.items():
        columns = {"group": kind.replace(" ", "_")}
        files[names.get(kind, f"{kind}.csv")] = csv_text(table.rename(columns=columns))
    files["scores.csv"] = csv_text(result.scores)
    if result.forecast is not None:
        files["forecast.csv"] = csv_text(result.forecast.bowlers)
        files["forecast-groups.csv"] = csv_text(result.forecast.groups)
        files["sensitivities.csv"] = csv_text(result.forecast.sensitivities)
    if result.games_table is not None:
        files["games.csv"] = csv_text(result.games_table)
    if result.switch is not None:
        files["switch.csv"] = csv_text(result.switch.bowlers)
        files["switch-weeks.csv"] = csv_text(result.switch.weekly)
        files["switch-groups.csv"] = csv_text(result.switch.groups)
    if result.till is not None:
        files["handicap.csv"] = csv_text(result.till.bowlers)
        files["handicap-groups.csv"] = csv_text(result.till.groups)
        if result.till.teams is not None:
            files["standings.csv"] = csv_text(result.till.teams)
        files["conditioner.csv"] = csv_text(result.till.oil)
        files["machine.csv"] = csv_text(result.till.machine)
    return files


def lane_csv(result: "LaneResult") -> dict[str, str]:
    """The CSV files of a lane look by name."""
    look = result.look
    return {
        "cells.csv": csv_text(look.cells),
        "paths.csv": csv_text(look.paths),
        "arrivals.csv": csv_text(look.arrivals),
    }
