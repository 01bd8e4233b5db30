"""Limits of single keys and the words that say them, shared by the models of all files.

Does not know which file a key stands in.
"""

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field
from pydantic.config import JsonDict

from leaguesim import units

VOLUME_MAX_ML = 60.0  # plausible for one lane; published events use 7 to 32 mL (assumed limit)


class File(BaseModel):
    """Strict: no unknown keys, no text for numbers, no booleans for numbers, no NaN."""

    model_config = ConfigDict(
        strict=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True
    )


def num(
    low: float,
    high: float,
    unit: str = "",
    *,
    above_low: bool = False,
    whole: bool = False,
    if_below: str = "",
    if_above: str = "",
) -> Any:
    """Limits of a number, with the sentence that says them."""
    kind = "a whole number" if whole else "a number"
    least, most = f"{low:.10g}", f"{high:.10g}"
    span = f"above {least} and up to {most}" if above_low else f"from {least} to {most}"
    words: JsonDict = {
        "allowed": f"{kind} {span} {unit}".rstrip(),
        "below": if_below,
        "above": if_above,
    }
    if above_low:
        return Field(gt=low, le=high, json_schema_extra={"words": words})
    return Field(ge=low, le=high, json_schema_extra={"words": words})


def text(longest: int = 200) -> Any:
    """A text of at least one sign."""
    words: JsonDict = {"allowed": f"a text of 1 to {longest} signs", "below": "", "above": ""}
    return Field(min_length=1, max_length=longest, json_schema_extra={"words": words})


Share = Annotated[float, num(0, 1, "(a share)")]
Shares = dict[str, Share]
Note = Annotated[str, Field(max_length=2000)]
Speed = Annotated[float, num(5, 30, "mph")]
Revs = Annotated[float, num(0, 700, "rpm")]
Rotation = Annotated[float, num(-120, 120, "degrees")]
Tilt = Annotated[float, num(-45, 60, "degrees")]
Angle = Annotated[float, num(0, 5, "degrees", above_low=True)]
Board = Annotated[float, num(1, units.BOARDS, "(counted from the right edge)")]
FromFeet = Annotated[
    float,
    num(
        0,
        units.LANE_LENGTH_FT,
        "ft",
        if_below="the band would overlap the foul line",
        if_above="that is oil beyond the pins",
    ),
]
