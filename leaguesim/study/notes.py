"""What the model does not know, in plain sentences for the page.

Every sentence is about this run; nothing here computes a result.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from leaguesim.center.lanes import lane_words

if TYPE_CHECKING:
    from leaguesim.study.prepare import Ready

EQUAL_LANES = (
    "All lanes of the center are taken as equal: same surface, same oil, no machine error. Lanes that "
    "differ are written into center.toml, one [[single_lane]] each."
)
NOTICE_PINS = 1.0  # ours: a smaller change of a league average is called one nobody would notice
FITTED = "Everybody plays as the fit has them"  # how a note begins that pages look for
IN_WORDS = (
    "Described in words only, so that its figures are assumed"  # as well, repeated by answers
)
UNMET = "The model meets these entering averages only"  # how a note begins that answers repeat
LANE_ALWAYS = (
    "Friction constants are calibrated to published facts about ball paths; they were not measured on "
    "your lanes. A different cover, cleaner or age of surface moves every line.",
    "Axis rotation is the least known thing about a bowler: lines are shown for the middle of the "
    "wide range stated in the style.",
    "Lines follow the length of the oil less than people's do: the rule of thumb moves the exit a board "
    "further in for each foot of oil, this model about a quarter of a board.",
)
ALWAYS = (
    "Friction constants are calibrated to published facts about ball paths; they were not measured on "
    "your lanes. A different cover, cleaner or age of surface moves every line, mostly under both "
    "conditions alike.",
    "Axis rotation is the least known thing about a bowler: unless the roster gives it, it is drawn "
    "from the wide range stated in the style.",
    "The interval of a change covers the luck of the nights only. What is not known about "
    "conditioner, lane and bowlers is not in it: compare draws it too when asked to by --unknowns.",
    "Bowlers find the best line they can on the film the night starts with and, where they can tell that "
    "the usual wear costs them, another line or ball in each of the first three games; between, they step and "
    "turn when their balls drift. Everybody has had time to settle: the weeks of getting used to a new "
    "condition are told apart and are in no other figure.",
    "Spare balls keep the line found on the film the night starts with and know nothing of the day's form; the "
    "second ball's outcome is looked up by where it arrives, at league speeds and angles mixed.",
    *LANE_ALWAYS[2:],
    "During a night the total film wears and is carried; what it is made of stays as it was laid.",
)


def study_notes(made: "Ready", conditions: Sequence[str], *, fitted: bool = False) -> list[str]:
    """Notes on a study of some of a center's conditions; ``fitted``: people are as their scores show them."""
    center = made.center
    notes = [*_invented(made), *ALWAYS, *_surface(made), *_lanes(made)]
    drawn = sum(1 for r in center.roster if r.average is None)
    tied = len(center.roster) - drawn
    if fitted:
        notes.append(
            f"{FITTED}: at the middle of what their scores leave possible, tied to the average that the scores "
            "give them. Accuracy, spare shooting and lane friction can't be told apart by scores alone."
        )
    elif tied:
        notes.append(
            f"{tied} bowlers have an entering average: their accuracy, and with it their whole "
            f"release, was set so that {center.today} gives it. Accuracy, spare shooting and lane "
            "friction can't be told apart by an average alone."
        )
    if drawn and not fitted:
        notes.append(
            f"{drawn} bowlers have no entering average: accuracy was drawn from their style, and the "
            f"average they are measured against is the one expected under {center.today}."
        )
    if made.unreached:
        notes.append(
            f"{UNMET} to 2 pins or worse: "
            + ", ".join(sorted(made.unreached)).removesuffix(".")
            + ". They are played at the nearest average it reaches."
        )
    return notes + _condition_notes(made, conditions)


def lane_notes(made: "Ready", condition: str) -> list[str]:
    """Notes on a look at one condition: nothing about averages, nights or intervals."""
    notes = [*_invented(made), *LANE_ALWAYS]
    if made.center.lane_states:
        notes.append(
            "Lanes of this center differ: this is the lane as its surface alone has it, without what "
            "center.toml says of single lanes."
        )
    else:
        notes.append(EQUAL_LANES)
    return notes + _condition_notes(made, [condition])


def _lanes(made: "Ready") -> list[str]:
    return lane_words(made.center.lane_states, len(made.pairs)) or [EQUAL_LANES]


def _surface(made: "Ready") -> list[str]:
    """What it means that another surface than the center's own was asked for."""
    center, surface = made.center, made.surface
    if surface == center.surface:
        return []
    notes = [
        f"Everything is played on another surface than the center's own: {surface.name} (Ra "
        f"{surface.roughness_uin:g} microinch, tilt {surface.tilt_in:g} in, residue "
        f"{surface.residue_units:g} units). People were tied to their averages on the center's own "
        f"surface ({center.surface.name}, Ra {center.surface.roughness_uin:g} microinch) and then went "
        "over to this one; they line up anew on it.",
        f"Kept happy is judged by the norms of {center.today} on the center's own surface: what this "
        "surface alone costs counts against both conditions.",
    ]
    if center.lane_states:
        notes.append(
            "What center.toml says of single lanes belongs to the center's own surface: here only the "
            "film that the machine lays on a lane still differs."
        )
    return notes


def _invented(made: "Ready") -> list[str]:
    name = made.center.name
    if not made.center.invented:
        return []
    return [f"{name} is invented: its people, oils and conditions are nobody's."]


def _condition_notes(made: "Ready", conditions: Sequence[str]) -> list[str]:
    notes: list[str] = []
    for name in dict.fromkeys(conditions):
        condition = made.center.conditions[name]
        if condition.after is not None and condition.after.games_per_lane:
            notes.append(
                f"{name}: before the league, {condition.after.games_per_lane} games a lane are played "
                "by drawn bowlers, the same people every night."
            )
        notes += list(made.lane(name).notes)
    oils = sorted({oil for name in conditions for oil in _oils(made, name)})
    told = [oil for oil in oils if made.center.conditioners[oil].coarse is not None]
    if told:
        notes.append(
            f"{IN_WORDS}: {', '.join(told)}. With --unknowns they are drawn from what the words allow."
        )
    return notes


def _oils(made: "Ready", name: str) -> set[str]:
    """Names of the conditioners that a condition lays, by bands or in all."""
    condition = made.center.conditions[name]
    read = condition.readings.shares if condition.readings is not None else ()
    return {oil for band in condition.bands for oil, _ in band.shares} | {oil for oil, _ in read}
