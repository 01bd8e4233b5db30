"""The words of pages: a short glossary with units, and the plain words that need none.

Does not know pages; ``document`` shows the terms that a page uses, tests hold every column head and
axis title against both lists.
"""

import re
from functools import cache

GLOSSARY: tuple[tuple[str, str], ...] = (
    ("95 %, 90 %", "interval that holds the true figure 95 (90) times in 100, of what it says it covers"),
    ("absorption [share]", "share of the oil picked up that soaks into a ball's cover"),
    ("accuracy [degrees]", "usual size of a miss at the arrows; smaller is better"),
    ("against the league, against own [pins]", "difference from the league's mean, or from the center's "
     "own surface"),
    ("average [pins]", "expected score of a game, once people are used to the condition"),
    ("axis rotation [degrees]", "turn of the ball's axis across the lane at the release; 0 rolls end "
     "over end, 90 spins sideways"),
    ("axis tilt [degrees]", "how far the ball's axis dips below level"),
    ("ball change [a night]", "taking up another ball of the bag between games, because the lane has "
     "worn so far that it is worth more pins than the bowler can miss"),
    ("board", "one of the lane's 39 strips; counted from the right edge, or from the left edge for "
     "left-handers where the text says so"),
    ("boards to move [board]", "from the old line to the new one at the feet or the arrows, whichever is "
     "more; towards the far side of the lane is plus"),
    ("breakpoint [board, ft]", "where the ball's path is outermost before it turns to the pocket"),
    ("burn", "lanes that were bowled on and not oiled again"),
    ("c_a, drag_c, h_f0", "constants of the friction law, fitted to published ball paths; see center.toml"),
    ("change [pins]", "average under the next condition minus average now, same people, nights and luck"),
    ("conditioner [mL]", "the oil that a lane machine lays down"),
    ("corner pin [share]", "corner pin left standing alone, per ball that met the pocket"),
    ("correlation", "how far a bowler's accuracy and spare skill cannot be told apart, −1 to 1"),
    ("critical rate [1/s]", "rate of shear at which a conditioner's thinning is half way"),
    ("crosswise ratio, ratio left, ratio right, ratio", "film on boards 18 to 22 over film on boards 3 "
     "to 7 of a side, at one distance; none where the outside is dry"),
    ("cut", "the entrants that go on after the block of games, and the total that took"),
    ("density [g/mL]", "mass of a millilitre of conditioner"),
    ("differential [in]", "largest less smallest radius of gyration of a ball: how much its track flares"),
    ("dose [mL]", "smallest amount that a lane machine meters"),
    ("effect [pins]", "change of a group less change of everybody else"),
    ("emulator, R2, R²", "a quick stand-in for the simulation; R2 1 foretells points left out perfectly"),
    ("entry angle [degrees]", "angle between the ball's path and the boards at the pins"),
    ("extra [pins]", "handicap a game more than settled averages would give"),
    ("fade [pins]", "average of the first game of a night less that of the last"),
    ("film [units]", "oil on the lane; 1 unit is 0.0167 cm³ a square foot, about 0.18 µm"),
    ("first order [share]", "share of the doubt that one unknown brings by itself"),
    ("first weeks [pins]", "average while people still start from the line and ball they had; settled is "
     "the average once they are used to the condition"),
    ("friction", "force across the lane per force down on it; 0 is ice, 0.32 the most a ball may have"),
    ("handicap [pins]", "pins a game added to a lower average by the league's formula"),
    ("index", "calls for a mechanic against today's condition, which is 100"),
    ("kept happy", "our index of play: average near the reference, misses forgiven, both sides alike, "
     "good hits carried, the night steady"),
    ("lay-down, laydown [board]", "board where the ball meets the lane at the foul line"),
    ("leave", "the pins that stand after a first ball"),
    ("left behind [share]", "share of the film that a passing ball leaves on its track"),
    ("length [ft]", "how far from the foul line the oil reaches"),
    ("line [board]", "where a bowler sends the ball: board at the foul line and at the arrows"),
    ("load sharing", "which film parts ball and lane in the friction law: the one supplied or the one in "
     "the contact"),
    ("lost, won back", "kept happy now but not next; kept happy next but not now"),
    ("margin [pins]", "difference set beforehand under which two groups count as treated alike"),
    ("miss room [board]", "where balls a board wide at the arrows end up, to either side, feet unmoved"),
    ("offset [board]", "from the head pin's centre to the ball's at the pins, to the bowler's own side"),
    ("p, p of fall and rise", "how often luck alone would show as much; small speaks against luck"),
    ("pocket", "between head pin and the pin beside it, on the bowler's own side"),
    ("points", "league points of a season, or hundredths where a share is compared"),
    ("posterior", "what is known of a bowler or conditioner after the scores were used"),
    ("predicted, forecast [pins]", "average that the fitted bowler has in the simulation"),
    ("pressure [MPa]", "mean pressure of the ball on the lane"),
    ("prior", "what was taken to be known before the scores were used"),
    ("radius of gyration, RG [in]", "how far from the axis a ball's mass lies; larger is slower to spin "
     "up"),
    ("reference [pins]", "entering average, or the average expected under today's condition"),
    ("release error [degrees]", "usual size of a miss at the arrows"),
    ("reliability", "share of the spread between entrants that is skill and not luck, 0 to 1"),
    ("residual [pins]", "actual average minus predicted"),
    ("residue [units]", "oil that cleaning leaves evenly on the lane, under the fresh oil"),
    ("rev rate [rpm]", "turns of the ball a minute as it leaves the hand"),
    ("roll start [ft]", "where the ball stops sliding and rolls; beyond 60 it never does"),
    ("roughness [µin]", "height of the surface's finish, Ra; coarser is larger"),
    ("selection ratio", "chance of a group to make the cut over everybody else's"),
    ("shrunken [pins]", "average pulled towards the league's where there are few games"),
    ("skill [pins]", "an entrant's own mean over many tournaments, squads levelled"),
    ("slip [m/s]", "speed at which the ball's surface slides on the lane"),
    ("spare ratio", "accuracy at spares over that at strikes"),
    ("spares, spare rate [share]", "spares per attempt"),
    ("spread [pins]", "standard deviation of a bowler's games; of styles: how unevenly they are moved"),
    ("stale averages", "entering averages made on another condition than the one bowled on"),
    ("stand-in error [pins]", "error of the quadratic that stands in for the simulation in a fit"),
    ("standard deviation, sd [pins]", "usual distance from the mean"),
    ("standard error [pins]", "simulation luck left in a figure; about 1 in 20 figures lies more than "
     "two of them off"),
    ("strikes, strike rate [share]", "strikes per full rack"),
    ("temperature [degrees C]", "of lane and oil while people bowl"),
    ("threshold", "the limit of a part of kept happy, set in center.toml"),
    ("tilt [in]", "of a lane: how much higher its left edge is than its right one"),
    ("viscosity [mPa.s]", "how thick a conditioner flows; it falls as the lane gets warmer"),
    ("volume [mL]", "oil laid on one lane"),
    ("what is not known, the doubt", "conditioners, lanes and people drawn anew from what they may be"),
)  # fmt: skip

PLAIN = frozenset(
    """
    style; hand; own hand; bowler; bowlers; team; entrant; entries; group; group (bowlers); kind;
    condition; oil; ball; game; games; game of the night; week; week after the switch; week of; check;
    expected; model; verdict; use; source; figure; value; beside it; block; what; why; now; next; today;
    before; after; with it; becomes; from; to; left; right; left side; right side; distance;
    distance from the foul line; interval; by; between; pins; cost; mL; ft; band; trial; surface;
    score of a game; share of games; at least; at most; what happens; going over; released;
    after the switch; from settled; settled; from → to; make the cut; speed; speed at the pins;
    price a litre; cost a lane; mL a lane; L a league night; L a season; a league night; a season;
    what upsets a machine; per 1,000 frames; points played; nine seasons in ten; on the new line;
    share on the new line; weeks to settle; place without; expected place without;
    expected place with it; wins the league without; one season in twenty above;
    one season in twenty below; actual; arrows; at the arrows; from ft; to ft; search; when searched;
    people like these; people, from lowest to highest; left hand less right hand; read; meant;
    tolerance; fall out of the upper half; rise into it; lose more than 3 pins; off spot; pins a game;
    a pin off its spot; 7 alone; 10 alone; 7 or 10 alone; its share of non-strikes; change of;
    share of balls that are no strike; give or take, pins' properties not known; raw gap to the others;
    what the formula does; what the condition does; what old averages do; share less the others' share;
    after, averages made on it; where single bowlers lie; makes the cut; share of the cut;
    field; tolerance, units; alone or with others; 300 games; 800 series; 200 games; falls more than 3;
    rises more than 3; falls more than 5; winner less ...; blend less ...; base 10 lower; base 10 higher;
    smallest shown with chance 80 %, pins; ±; family; report; made; command; ends; games of the block; of;
    from the left edge; answer; verdict fair; verdict unfair; verdict not shown
    """.replace("\n", " ").split(";")
)  # fmt: skip
COLUMN_WORDS = {  # short words that only columns and keys of files use
    "se": "standard error", "low": "lower end of an interval", "high": "upper end of an interval",
    "mph": "miles an hour", "pair": "two lanes that a game is bowled on", "close": "within two standard "
    "errors of a threshold", "shift": "next minus now", "exit": "board where the ball leaves the oil",
    "way": "at once or step by step", "date": "day of a week's play", "learnt": "share on the new line",
    "held": "average not below its limit", "inside": "towards the middle of the lane", "stay": "without "
    "the switch", "cause": "what upsets a machine", "assumption": "what a figure takes for granted",
    # units at the end of a name
    "deg": "degrees", "lb": "pounds", "min": "least", "mpas": "millipascal seconds", "mpa": "megapascals",
    "um": "micrometres", "uin": "millionths of an inch", "g": "grams", "c": "degrees Celsius",
    "f": "degrees Fahrenheit", "percent": "hundredths", "log": "of the logarithm: about a share",
    # names of things in a file
    "name": "what reports call it", "title": "what reports call it", "note": "anything worth remembering",
    "number": "of a lane", "words": "a verdict in a sentence", "row": "line of a table", "property": "of a "
    "conditioner", "invented": "demo material", "currency": "printed beside amounts", "order": "see first "
    "order", "population": "people drawn without a roster", "person": "a single bowler", "roster": "the "
    "bowlers of the league", "session": "day or week of a league night",
    # what was counted or found
    "covered": "boards with oil", "fell": "out of the upper half", "rose": "into the upper half",
    "discrimination": "how well a condition tells bowlers apart",
    "floored": "doubt put at 0, no more than luck shows", "measured": "what a tape read", "within": "no "
    "farther off than the tolerance", "narrowed": "how much narrower an interval became", "opens": "open "
    "frames", "outcome": "whose change", "ranked": "told well enough to be ranked", "stale": "averages from "
    "before the switch", "unknown": "from what is not known", "weight": "share of a posterior",
    "equivalence": "of an effect beyond the margin",
    # what is set
    "affinity": "share of the oil picked up that stays on the ball", "application": "film laid against film "
    "asked for", "bag": "balls that a bowler owns", "behind": "see left behind", "boundary": "film needed to "
    "part ball and lane, against the usual", "candidates": "conditions tried", "control": "errors of a "
    "release other than its angle", "diameter": "of a ball", "drop": "below the reference", "factor": "times "
    "the usual", "fairness": "limits of the fairness command", "farthest": "most boards moved over a night",
    "finalists": "of a ladder of single games", "fresh": "nights not used in a search", "gain": "share of a "
    "seen miss corrected by moving", "goal": "what a search is for", "h": "film", "handed": "see hand",
    "longest": "pattern that the machine lays", "mass": "of a ball", "oiled": "lanes, counting every time",
    "patience": "balls seen before moving", "practice": "balls before the first game", "reading": "of film "
    "by tape", "reoil": "oil again between squads", "rg": "radius of gyration", "shortest": "band of oil",
    "step": "multiple that the machine can set", "tanks": "of conditioner in the machine", "target": "average "
    "wanted", "wears": "how long a conditioner lasts",
}  # fmt: skip
_PLAIN = frozenset(" ".join(word.split()) for word in PLAIN)
_UNIT = re.compile(
    r",? ?(pins|units|boards?|degrees|mph|rpm|ft|m/s|µin|%|points|EUR|95 %)( a game)?$"
)
_WHEN = re.compile(r" (now|next|without)$")


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], tuple[str, str]], ...]:
    """Each entry with a pattern that finds any of its words."""
    found = []
    for entry in GLOSSARY:
        words = entry[0].partition(" [")[0].split(", ")
        joined = "|".join(re.escape(w) for w in words)
        found.append((re.compile(rf"(?<!\w)(?:{joined})(?:s|es)?(?!\w)", re.IGNORECASE), entry))
    return tuple(found)


def used_in(text: str) -> list[tuple[str, str]]:
    """The entries whose words a text uses, in order.

    >>> [term for term, _ in used_in("Film of today")]
    ['film [units]']
    """
    return [entry for pattern, entry in _patterns() if pattern.search(text)]


def is_known(title: str) -> bool:
    """Whether a column head or axis title is plain or in the glossary.

    >>> is_known("change, pins"), is_known("zorp index of flux [q]"), is_known("zorp")
    (True, True, False)
    """
    bare = _WHEN.sub("", _UNIT.sub("", title).strip())
    return bare in _PLAIN or title in _PLAIN or bool(used_in(title))
