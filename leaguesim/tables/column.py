"""One column of a table, and a table made of declared columns.

Does not know any table.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from leaguesim.errors import LeaguesimError

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Column:
    """One column: pandas dtype, unit for people, one-line meaning."""

    dtype: str
    unit: str
    meaning: str


def frame(columns: Mapping[str, Column], data: Mapping[str, Sequence[Any]]) -> "pd.DataFrame":
    """A DataFrame with exactly the declared columns, in order and of the declared types.

    Raises
    ------
    LeaguesimError : a column is missing or not declared
    """
    import pandas as pd

    if set(columns) != set(data):
        wrong = sorted(set(columns) ^ set(data))
        raise LeaguesimError(f"table columns do not match their declaration: {wrong}")
    return pd.DataFrame({k: pd.Series(list(data[k]), dtype=c.dtype) for k, c in columns.items()})
