"""The score of one game from its rolls, frame by frame.

Does not guess: an impossible, incomplete or over-long game is refused, with the frame that is
wrong.  A foul counts as a roll of 0, after which the full rack may still be spared.
"""

from collections.abc import Iterable
from operator import index

from leaguesim.errors import InputError


def game_score(rolls: Iterable[int]) -> int:
    """Score of a complete game under traditional scoring.

    Parameters
    ----------
    rolls : pins of every ball thrown, in order; no entry for a ball that was not thrown. [pins]

    Returns
    -------
    score, 0 to 300. [pins]

    Raises
    ------
    InputError : a roll or frame is impossible, the game is incomplete or too long

    Source: International Bowling Federation, Universal Playing Rules, rule 2.1.

    >>> game_score([10] * 12)
    300
    >>> game_score([9, 0] * 10)
    90
    """
    return running_totals(rolls)[-1]


def running_totals(rolls: Iterable[int]) -> list[int]:
    """Score after each of the ten frames, bonus balls included.

    Takes and refuses what ``game_score`` does.

    >>> running_totals([10, 9, 1] * 5 + [10])
    [20, 40, 60, 80, 100, 120, 140, 160, 180, 200]
    """
    pins = _pins(rolls)
    starts = frame_starts(pins)
    totals: list[int] = []
    total = 0
    for start in starts:
        marked = pins[start] == 10 or pins[start] + pins[start + 1] == 10
        total += sum(pins[start : start + (3 if marked else 2)])
        totals.append(total)
    return totals


def frame_starts(pins: list[int]) -> list[int]:
    """Index of each frame's first roll; raises InputError if the rolls are not one whole game.

    >>> frame_starts([10] * 9 + [3, 4])
    [0, 1, 2, 3, 4, 5, 6, 7, 8, 9]
    """
    starts: list[int] = []
    at = 0
    for frame in range(1, 10):
        starts.append(at)
        at += 1 if _roll(pins, at, frame) == 10 else _two_balls(pins, at, frame)
    starts.append(at)
    if _roll(pins, at, 10) == 10:
        if _roll(pins, at + 1, 10) == 10:
            _roll(pins, at + 2, 10)
        else:
            _two_balls(pins, at + 1, 10)
        at += 3
    else:
        _two_balls(pins, at, 10)
        at += 2
        if pins[at - 2] + pins[at - 1] == 10:
            _roll(pins, at, 10)
            at += 1
    if len(pins) > at:
        raise InputError(f"the game is over after {at} rolls, got {len(pins)}")
    return starts


def _pins(rolls: Iterable[int]) -> list[int]:
    try:
        pins = [index(roll) for roll in rolls]
    except TypeError:
        raise InputError(f"rolls must be whole numbers of pins, got {rolls!r}") from None
    for number, roll in enumerate(pins, start=1):
        if not 0 <= roll <= 10:
            raise InputError(f"roll {number}: a ball fells 0 to 10 pins, got {roll}")
    return pins


def _roll(pins: list[int], at: int, frame: int) -> int:
    if at >= len(pins):
        raise InputError(f"the game is incomplete: frame {frame} needs roll {at + 1}")
    return pins[at]


def _two_balls(pins: list[int], at: int, frame: int) -> int:
    """Check two balls at one rack; returns how many rolls they are."""
    first, second = _roll(pins, at, frame), _roll(pins, at + 1, frame)
    if first + second > 10:
        raise InputError(
            f"frame {frame}, roll {at + 2}: {second} more pins after {first} make more than ten"
        )
    return 2
