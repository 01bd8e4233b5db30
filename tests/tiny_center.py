"""The smallest center that has one of every file, and the door that each file goes through.

Everything is invented.  Reading all of it takes a few milliseconds, so that thousands of texts can be tried.
"""

from pathlib import Path
from typing import Any

from leaguesim.center import read
from leaguesim.center.aimfiles import find_goal, find_tournament
from leaguesim.center.scores import read_scores
from leaguesim.center.sequence import find_sequence
from leaguesim.errors import ProfileError

FILES = {
    "center.toml": """\
name = "Hall"
invented = true
lanes = 4
temperature_c = 21.1
today = "house"

[surface]
name = "synthetic"
roughness_uin = 15.0
tilt_in = 0.0

[[single_lane]]
number = 3
film_factor = 1.1

[league]
name = "league"
games = 3
practice_balls = 4
weeks = 32
switch_week = 3

[league.after]
games_per_lane = 6
styles = { stroker = 1.0 }

[kept_happy]
average_drop_pins = 3.0

[fairness]
margin_pins = 3.0
handicap_base = 210

[prices]
currency = "EUR"
game = 4.5
lanes_oiled_per_week = 56

[friction]
c_a = 1.5
load_sharing = "supply"

[doubts]
temperature_sd_c = 1.0
""",
    "conditions/house.toml": """\
title = "House"
[[bands]]
from_ft = 0
to_ft = 34
from_board = 2
to_board = 38
volume_ml = 9.0
shares = { amber = 1.0 }

[[bands]]
from_ft = 4.5
to_ft = 40
from_board = 8
to_board = 32
volume_ml = 12.5
shares = { amber = 0.25, slate = 0.75 }

[after]
games_per_lane = 6
styles = { stroker = 1.0 }
""",
    "conditions/tape.toml": """\
title = "Measured"
readings = "tape.csv"
shares = { amber = 0.75, slate = 0.25 }
""",
    "conditions/tape.csv": """\
distance_ft,board,units
8,5,12
8,20,36
8,35,12
22,5,4
22,20,12.5
22,35,4
38,5,0
38,20,3
38,35,0
""",
    "conditioners/amber.toml": """\
viscosity_mpas = 35.0
viscosity_at_c = 21.1
viscosity_change_per_10f = -0.22
density_g_per_ml = 0.85
base_share = 1.0
boundary_factor = 1.0
left_behind = 0.65
ball_affinity = 0.5
price_per_litre = 9.0
note = "invented"
""",
    "conditioners/slate.toml": """\
than = "amber"
friction = "more"
kind = "thickened"
wears = "shorter"
""",
    "balls/medium.toml": """\
mass_lb = 15.0
rg_in = 2.50
roughness_uin = 25.0
differential_in = 0.040
absorption = 0.5
diameter_in = 8.55
""",
    "balls/spare.toml": """\
mass_lb = 14.0
roughness_uin = 3.0
dry_friction = 0.12
""",
    "styles/stroker.toml": """\
bag = ["medium"]
spare_ball = "spare"
speed_rev_correlation = 0.3
laydown_sd_board = 0.65
speed_sd_mph = 0.3
rev_sd_rpm = 9
rotation_sd_deg = 3.0
spare_accuracy = 0.9
move_gain = 0.5
move_after_balls = 2
laydown_low_board = 8
laydown_high_board = 32
control_spread = 0.15
left_handed_share = 0.12
bag_least = 1
note = "smooth"

[speed_mph]
mean = 16.2
sd = 1.0
low = 13.5
high = 19

[rev_rate_rpm]
mean = 230
sd = 35
low = 150
high = 310

[axis_rotation_deg]
mean = 45
sd = 10
low = 20
high = 70

[axis_tilt_deg]
mean = 13
sd = 5
low = 2
high = 28

[accuracy_deg]
mean = 0.38
sd = 0.07
low = 0.2
high = 0.6
""",
    "roster.csv": """\
bowler,team,hand,style,speed_mph,rev_rate_rpm,axis_rotation_deg,axis_tilt_deg,average
Ann,A,right,stroker,,,,,
Bob,B,left,stroker,16.5,240,40,12,171
""",
    "surfaces/older.toml": """\
name = "worn synthetic"
roughness_uin = 25.0
tilt_in = 0.010
residue_units = 1.5
""",
    "populations/mixed.toml": """\
note = "a mixed league"
left_handed_share = 0.1
[styles]
stroker = 1.0
[average]
mean = 165
sd = 25
low = 90
high = 230
""",
    "goals/wish.toml": """\
title = "The field averages 165"
goal = "average"
target = 165.0
conditioners = ["amber"]
tanks = 1
candidates = 40
nights = 32
fresh_nights = 256

[limits]
length_low_ft = 36
length_high_ft = 44
volume_low_ml = 18
volume_high_ml = 30
ratio_right_high = 10
ratio_left_high = 10
cost_high = 0.30

[machine]
smallest_dose_ml = 0.1
shortest_band_ft = 2
length_step_ft = 1
share_step = 0.125
longest_ft = 50
""",
    "tournaments/open.toml": """\
title = "Open"
field = "population"
population = "mixed"
entrants = 24
squads = 2
games = 4
per_lane = 2
practice_balls = 4
move_pairs = 1
reoil = true
conditions = ["house"]
oil_sd_share = 0.03
tilt_sd_in = 0.005
cut = 5
finalists = 3
""",
    "sequences/steps.csv": """\
date,condition
2027-01-05,tape
2027-01-26,house
""",
    "scores.csv": """\
date,bowler,team,game1,game2,game3,absent
2026-09-01,Ann,A,152,146,143,
2026-09-01,Bob,B,180,179,215,
2026-09-08,Ann,A,182,166,163,
2026-09-08,Bob,B,174,196,172,x
""",
    "film_readings.csv": """\
condition,distance_ft,board,games,before_units,after_units
house,10,15,12,40,33.5
house,20,12,12,20,17
""",
}  # fmt: skip


def write(folder: Path) -> Path:
    """The center's files in a folder."""
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


class Door:
    """A written center, and what is told when one of its files holds something else."""

    def __init__(self, folder: Path) -> None:
        self.folder = write(folder)
        self.center = read(self.folder)

    def value(self, name: str) -> Any:
        """What the files now make: raises what the door raises."""
        kind, _, file = name.partition("/")
        if kind == "goals":
            read(self.folder)
            return find_goal(self.center, Path(file).stem)
        if kind == "tournaments":
            read(self.folder)
            return find_tournament(self.center, Path(file).stem)
        if kind == "sequences":
            return find_sequence(self.center, Path(file).stem)
        if kind == "scores.csv":
            return read_scores(self.center)
        return read(self.folder)

    def told(self, name: str, content: str | bytes) -> tuple[list[str], Any]:
        """Faults (or rows of scores that were not used) and the value, with other content in one file."""
        path = self.folder / name
        good = path.read_bytes() if path.exists() else None
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content.encode() if isinstance(content, str) else content)
            made = self.value(name)
            return list(made.problems) if name == "scores.csv" else [], made
        except ProfileError as fault:
            return fault.faults, None
        except Exception as fault:
            from leaguesim.errors import InputError

            if isinstance(fault, InputError):
                return [str(fault)], None
            raise
        finally:
            if good is None:
                path.unlink(missing_ok=True)
            else:
                path.write_bytes(good)
