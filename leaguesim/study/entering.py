"""From an entering average to the accuracy that gives it on today's condition.

A first tie between roster and model: one number per bowler, the accuracy, with which their whole release
goes; solved on the line-up's own expectation and corrected by pilots of played nights.  It does not weigh
what else could explain an average, and does not shrink it.
"""

from collections.abc import Callable, Sequence

from leaguesim.bowlers.lineup import Floor, game_worth, throw_many, with_errors
from leaguesim.bowlers.release import delivery, even_errors
from leaguesim.bowlers.spares import spare_law
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.arrays import kernel_table
from leaguesim.play.crew import Stance
from leaguesim.play.setting import Pins

LEAST_DEG, MOST_DEG = 0.06, 2.5  # from beyond the best measured release to the wildest beginner
STEPS = 9
ROUNDS = 4  # solved so often, each but the first corrected by the pilots played; the best wins
MISSED_PINS = 2.0  # a last pilot farther off than this is told
TRIALS = 128


def worth_at(stance: Stance, accuracy_deg: float, floor: Floor, pins: Pins) -> float:
    """Expected score of a game on the stance's line with another accuracy. [pins]"""
    bowler = stance.bowler.with_accuracy(accuracy_deg)
    spares = spare_law(bowler, floor, pins.arrays, pins.second)
    intent, ball = delivery(bowler, stance.line.ball)
    table = kernel_table(floor.lane, ball.roughness_uin, ball.mu_dry)
    releases = with_errors(intent, stance.line.board, stance.line.angle, even_errors(TRIALS))
    _, value = throw_many(
        floor, table, ball, intent, bowler.hand, pins.arrays, spares.clear, spares.more, releases
    )
    return float(game_worth(value.mean(axis=0)))


def solve_accuracy(
    stance: Stance,
    target: float,
    floor: Floor,
    pins: Pins,
    low: float = LEAST_DEG,
    high: float = MOST_DEG,
) -> Bowler:
    """The bowler with the accuracy whose expected game on this line is ``target`` [pins].

    Bisection on the logarithm from ``low`` to ``high`` [deg]; held at the end of its range where no
    accuracy reaches the target.
    """
    for _ in range(STEPS):
        middle = (low * high) ** 0.5
        if worth_at(stance, middle, floor, pins) > target:
            low = middle
        else:
            high = middle
    return stance.bowler.with_accuracy((low * high) ** 0.5)


def between(heard: Sequence[tuple[float, float]], goal: float) -> float | None:
    """The accuracy that the goal asks for, between pilots on either side of it; None without such. [deg]

    ``heard`` holds (accuracy [deg], average [pins]) of each pilot.  The answer lies between the two
    averages next to the goal, whatever lines they were played on: a straight line through them in the
    logarithm of accuracy.
    """
    above = [at for at in heard if at[1] >= goal]
    below = [at for at in heard if at[1] < goal]
    if not above or not below:
        return None
    (fine, high), (wild, low) = min(above, key=lambda a: a[1]), max(below, key=lambda a: a[1])
    share = (high - goal) / (high - low)
    return float(fine ** (1.0 - share) * wild**share)


def next_bowler(
    stance: Stance,
    goal: float,
    heard: Sequence[tuple[float, float]],
    floor: Floor,
    pins: Pins,
    low: float = LEAST_DEG,
    high: float = MOST_DEG,
) -> Bowler:
    """The bowler to play next, by what was played: (accuracy [deg], average [pins]) of each pilot.

    With the goal on one side of all pilots, the line-up's expectation is moved by the last one's error
    and looked for from ``low`` to ``high`` [deg].
    """
    accuracy = between(heard, goal)
    if accuracy is not None:
        return stance.bowler.with_accuracy(accuracy)
    aim = goal
    if heard:
        last, played = heard[-1]
        aim += worth_at(stance, last, floor, pins) - played
    return solve_accuracy(stance, aim, floor, pins, low, high)


def tie_to_averages(
    bowlers: Sequence[Bowler],
    stand: Callable[[Sequence[Bowler]], dict[str, Stance]],
    pilot: Callable[[Sequence[Bowler]], dict[str, float]],
    floor: Floor,
    pins: Pins,
    spread: Callable[..., list[Bowler]],
) -> tuple[list[Bowler], list[str]]:
    """Bowlers whose expected average under today's condition is their entering one.

    Parameters
    ----------
    stand : lines up bowlers on today's film, by name
    pilot : plays a few nights under today's condition and returns averages by name
    spread : ``map`` that returns a list

    Returns
    -------
    the bowlers in order, and the names of those whose average is missed by 2 pins or more in the last pilot
    """
    goal = {b.bowler: float(b.average) for b in bowlers if b.average is not None}
    if not goal:
        return list(bowlers), []
    now = list(bowlers)
    heard: dict[str, list[tuple[float, float]]] = {name: [] for name in goal}
    for step in range(ROUNDS + 1):
        stances = stand([b for b in now if b.bowler in goal])
        if step:
            played = pilot(now)
            for name, stance in stances.items():
                heard[name].append((stance.bowler.accuracy_deg, played[name]))
        if step < ROUNDS:
            solved = spread(
                lambda s: next_bowler(
                    s, goal[s.bowler.bowler], heard[s.bowler.bowler], floor, pins
                ),
                list(stances.values()),
            )
            by_name = {b.bowler: b for b in solved}
            now = [by_name.get(b.bowler, b) for b in now]
    nearest = {n: min(h, key=lambda at: abs(at[1] - goal[n]))[0] for n, h in heard.items()}
    tied = [b.with_accuracy(nearest[b.bowler]) if b.bowler in nearest else b for b in bowlers]
    played = pilot(tied)  # together: everybody's wear is everybody's
    return tied, [name for name in goal if abs(played[name] - goal[name]) >= MISSED_PINS]
