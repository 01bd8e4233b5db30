"""Population files: people described by shares of styles, for when there is no roster.

Model and conversion of populations/NAME.toml.  Does not draw anybody nor look across files.
"""

from typing import Annotated

from leaguesim.bowlers.values import Population, Spread
from leaguesim.center.keys import File, Note, Share, Shares, num

Score = Annotated[float, num(1, 300, "pins")]


class AverageSpread(File):
    """How averages vary between the people of a population."""

    mean: Score
    sd: Annotated[float, num(0, 100, "pins")]
    low: Score
    high: Score


class PopulationFile(File):
    """populations/NAME.toml: who bowls, by shares of styles; a roster overrides it."""

    styles: Shares
    """Shares by style, adding up to 1."""
    left_handed_share: Share | None = None
    """Share of left-handers; absent takes each style's own."""
    average: AverageSpread | None = None
    """Averages under today's condition; absent leaves them to the play."""
    note: Note = ""
    """Anything worth remembering."""


def population(name: str, file: PopulationFile) -> Population:
    """A population named by its file."""
    a = file.average
    return Population(
        name=name,
        styles=tuple(sorted((k, float(v)) for k, v in file.styles.items())),
        left_handed_share=file.left_handed_share,
        average=None if a is None else Spread(a.mean, a.sd, a.low, a.high),
        note=file.note,
    )
