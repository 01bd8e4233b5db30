"""From a population to people: so many bowlers, each with a style, a hand and, if known, an average.

Every bowler has a stream of their own, so that the first ones of a longer list are the same people.  Does
not fix traits: ``draw_bowler`` does, from the roster lines made here.
"""

from collections.abc import Mapping, Sequence

from leaguesim.bowlers.draw import cut_normal
from leaguesim.bowlers.values import Population, RosterLine, Style
from leaguesim.errors import InputError
from leaguesim.streams import Purpose, stream

TEAM_SIZE = 4


def people_of(
    population: Population,
    styles: Mapping[str, Style],
    n: int,
    seed: int,
    *,
    team_size: int = TEAM_SIZE,
    roster: Sequence[RosterLine] = (),
) -> tuple[RosterLine, ...]:
    """``n`` roster lines of a population, in teams in the order drawn.

    Parameters
    ----------
    roster : people who are known; they come first, as they are, and count among the ``n``

    Raises
    ------
    InputError : no such style, shares that are not all there, or ``n`` or ``team_size`` below 1
    """
    if n < 1 or team_size < 1:
        raise InputError(f"population {population.name}: at least one bowler is needed, got {n}")
    unknown = [name for name, _ in population.styles if name not in styles]
    total = sum(share for _, share in population.styles)
    if unknown or abs(total - 1.0) > 1e-6:
        what = f"no such style: {', '.join(unknown)}" if unknown else f"shares add up to {total:g}"
        raise InputError(f"population {population.name}: {what}")
    known = tuple(roster[:n])
    taken = {line.bowler for line in known}
    made: list[RosterLine] = []
    k = 0
    while len(known) + len(made) < n:
        k += 1
        who = f"{population.name} {k}"
        if who in taken:
            continue
        team = f"{population.name} team {len(made) // team_size + 1}"
        made.append(_person(population, styles, who, team, seed))
    return known + tuple(made)


def _person(
    population: Population, styles: Mapping[str, Style], who: str, team: str, seed: int
) -> RosterLine:
    u = stream(seed, Purpose.BOWLER_TRAITS, identity=who + ", who").random(3)
    at = 0.0
    style = max(population.styles, key=lambda s: s[1])[0]  # rounding leaves a crack above the last
    for name, share in sorted(population.styles):
        at += share
        if u[0] < at:
            style = name
            break
    left = population.left_handed_share
    left = styles[style].left_handed_share if left is None else left
    average = population.average
    return RosterLine(
        who, team, "left" if u[1] < left else "right", style,
        average=None if average is None else cut_normal(float(u[2]), average),
    )  # fmt: skip
