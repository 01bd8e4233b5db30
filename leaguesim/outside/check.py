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


def near(
    name: str, source: str, expected: float, model: float, tolerance: float, unit: str = ""
) -> Check:
    """A figure printed to a last digit, and the model's value within ``tolerance`` of it."""
    tail = f" {unit}" if unit else ""
    return Check(
        name,
        source,
        f"{expected:g}{tail} (within {tolerance:g})",
        f"{model:.6g}{tail}",
        verdict(abs(model - expected) <= tolerance),
    )
