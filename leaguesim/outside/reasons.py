"""What is known about why a row misses, in words beside the row's figures.

A reason is told only while its row misses; "not understood" is said where nothing is known.  Excuses
nothing: a miss stays a miss.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from leaguesim.outside.check import Check

# By how a row's name begins.
REASONS: Final[dict[str, str]] = {
    "path: scatter of identical releases": "a robot's own scatter and the lane's unevenness are not "
    "modelled; people's errors are ten times as large or more",
    "path: robot's inside miss": "contradicts the friction pair, see doubts in calibration.toml: more friction "
    "on the oil would be needed than is published",
    "path: board where the best line leaves a flat film": "lines are found by expected pins alone, and where the "
    "dry boards begin decides more than the length does",
    "proof, the world that fits: rank": "not understood in full: scores tell an average, not the speed, revs and "
    "rotation by which people of one style differ",
    "proof, another world: rank": "as in the world that fits, and styles are labelled wrong besides",
    "path: a lane 5 degrees C colder": "oil thickens in the cold and drags more; that covers grip less on "
    "a cold lane is told, but no law of dry friction against temperature is known to us, so none is put in",
    "wear: heads of boards 15 to 25": "the heads, the track and the oil carried off contradict each other "
    "under one share left behind; what holds in the track is in force",
    "wear: oil one ball carries off": "computed for the dry contact alone; in force is the strip that the "
    "wetted width beside that contact asks for (play.crew), 1.8 times as much",
    "scores: house average of a": "the pattern is worth less here than published; our sport pattern is the "
    "house pattern spread out, the published pair of patterns is not given",
    "scores: experts, house": "as for 149 and 163: the pattern is worth too little here",
    "scores: strikes of fresh racks at": "spares are made too well here (corner pins under bowlers), so that "
    "fewer strikes make the same average",
    "scores: sd of a game at an average": "partly because days differ too little, see the row on days",
    "scores: sd from day to day": "the form of a day is assumed, not fitted to scores, and moves first balls "
    "only: spares are made alike on every day",
    "bowlers: speed lost from release": "what a ball loses follows from its roll, row by row as computed; the "
    "secondary report's range is of hook shots, and slow or straight balls lose more",
    "bowlers: range of ten shots": "not understood: people of a published accuracy score less here",
    "bowlers: corner pins converted": "a second ball knows errors of the release only: nobody misjudges a "
    "line, and the film of the night's start stays under it",
    "bowlers: sd of 8 experts": "who counted as skilled is not said; taken as 220 and over, a range of two "
    "boards at the arrows",
    "pins: where a flush ball leaves": "the source does not say whether board 17 is read at 60 ft or where "
    "ball and pin meet; its 19 lies between the two readings",
    "pins: good zone at": "the source gives no rate: 70 % of the best is our own reading of good",
    "pins: a lighter ball leaves more": "not understood: the same library deflects a lighter ball more",
    "direction: lower averages suffer most": "not understood: misses of lower averages span more boards "
    "than a step, while a taper's hold is lost by those who use it",
    "direction: narrow coverage costs": "they stand further in and the dry outside brings a miss back",
    "direction: more oil down the lane, more work for mechanics: pins": "balls arrive as fast and as steep "
    "as before: people line up anew",
    "direction: corner pins are carried best within a band of arrival speed": "the fall is flat beyond the "
    "best; shares at the end differ by less than two standard errors",
    "direction: corner pins are carried best within a band of arrival angle": "still falling at the "
    "steepest angles that people reach",
    "direction: a new level of friction": "people differ so much that how many they are decides, not how "
    "many nights they play",
    "rotation: change of the average when": "the answer does hang on rotation: more slip, more loss where "
    "friction rises; say a bowler's rotation in the roster where it is known",
}


def reason_for(name: str) -> str | None:
    """What is known about why a row of this name would miss."""
    return next((why for start, why in REASONS.items() if name.startswith(start)), None)


def with_reasons(checks: Iterable[Check]) -> list[Check]:
    """The same rows; those that miss say why, as far as it is known.

    >>> with_reasons([Check("pins: good zone at 4 deg", "s", "1", "2", "pass")])[0].model
    '2'
    """
    out = []
    for check in checks:
        why = reason_for(check.name) if check.verdict == "miss" else None
        out.append(check if why is None else replace(check, model=f"{check.model}. Why: {why}"))
    return out
