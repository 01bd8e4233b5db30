"""One outside check: what a source says, what the model says, whether they agree.

Does not compute either; a miss is reported as it is.
"""

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["pass", "miss"]
Use = Literal["fit", "check"]


@dataclass(frozen=True)
class Check:
    """A row of the validation table.

    ``use`` is "fit" where the model was tuned to the figure and "check" where it was not: only
    check rows are evidence.
    """

    name: str
    source: str
    expected: str
    model: str
    verdict: Verdict
    use: Use = "check"


def verdict(agrees: bool) -> Verdict:
    """The word for a comparison's outcome.

    >>> verdict(3 > 2)
    'pass'
    """
    return "pass" if agrees else "miss"
