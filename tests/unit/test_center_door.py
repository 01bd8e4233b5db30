"""Reading a center: the shipped ones read clean, and every bad input has its sentence."""

import shutil
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import Style
from leaguesim.center import Center, convert, demo_center, find_condition, read, starter_folder
from leaguesim.center.models import CenterFile, ConditionerFile, FrictionTable
from leaguesim.center.models_play import BallFile, StyleFile
from leaguesim.errors import InputError, ProfileError
from leaguesim.lane.values import (
    CONTACT_CONSTANTS,
    Conditioner,
    FrictionConstants,
    LaneDoubt,
    Surface,
)
from leaguesim.play.values import LeagueFormat, Prices, Thresholds

Edit = Callable[[str, str, str], None]
HOUSE = "conditions/tuesday_40.toml"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(starter_folder() / "starter", tmp_path / "hall"))


@pytest.fixture
def edit(folder: Path) -> Edit:
    def swap(file: str, old: str, new: str) -> None:
        path = folder / file
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {file}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")

    return swap


def faults(folder: Path) -> list[str]:
    with pytest.raises(ProfileError) as caught:
        read(folder)
    assert caught.value.exit_code == 2
    texts = caught.value.faults
    assert all("\n" not in text for text in texts)
    prefix = folder.as_posix() + "/"
    return [text.removeprefix(prefix) for text in texts]


def test_center_starter_reads_clean(folder: Path) -> None:
    center = read(folder)
    assert center.today == "tuesday_40"
    assert len(center.roster) == 16
    assert len(center.conditions) == 2
    assert center.surface == Surface()
    assert center.friction == FrictionConstants()
    assert center.thresholds == Thresholds()


def test_center_reads_the_same_from_inside_its_folder(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = read(folder)
    monkeypatch.chdir(folder)
    here = read(".")
    assert here.file_hashes == whole.file_hashes
    assert here.conditions == whole.conditions
    assert "conditions/tuesday_40.toml" in here.file_hashes


def test_center_hashes_every_file_it_read(folder: Path) -> None:
    from hashlib import sha256

    center = read(folder)
    files = [p for p in folder.rglob("*") if p.is_file()]
    assert center.file_hashes == {
        p.relative_to(folder).as_posix(): sha256(p.read_bytes()).hexdigest() for p in files
    }
    assert list(center.file_hashes) == sorted(center.file_hashes)


def test_center_dictionaries_are_sorted(folder: Path) -> None:
    center = read(folder)
    for names in (center.conditions, center.conditioners, center.balls, center.styles):
        assert list(names) == sorted(names)


def test_center_defaults_are_those_of_the_values_below() -> None:
    hall = CenterFile.model_validate({"name": "x", "lanes": 2, "today": "y"})
    assert hall.surface.model_dump() == asdict(Surface())
    # earlier play goes to the conditions and a population to the roster, not to the format of a night
    elsewhere = {"after": None, "population": None, "people": None}
    assert hall.league.model_dump() == asdict(LeagueFormat()) | elsewhere
    assert hall.kept_happy.model_dump() == asdict(Thresholds())
    assert hall.prices.model_dump() == asdict(Prices())
    # words are for conditioners that name another one; the rest goes over key by key
    assert convert.conditioners({"x": ConditionerFile()}) == {"x": Conditioner(name="x")}
    assert hall.doubts.model_dump() == asdict(LaneDoubt())
    assert BallFile().model_dump() | {"name": "ball"} == asdict(Ball())
    assert convert.friction(FrictionTable()) == FrictionConstants()
    assert convert.friction(FrictionTable(load_sharing="contact")) == CONTACT_CONSTANTS
    own = convert.friction(FrictionTable(c_a=1.25, h_f0_um=6, pressure_mpa=7))
    assert own == replace(FrictionConstants(), c_a=1.25, h_f0_m=6e-6, pressure_pa=7e6)
    for key, field in StyleFile.model_fields.items():
        if not field.is_required() and key != "bag":
            assert field.default == Style.__dataclass_fields__[key].default, key


# One edit, and the line, key and words that must be told.
CASES = [
    # center.toml
    ("center.toml", "lanes = 8", "lanes = true", "center.toml:7: lanes: wrong type", "from 2 to"),
    ("center.toml", "lanes = 8", "lanes = 8.0", ":7: lanes: wrong type", "a whole number"),
    ("center.toml", "lanes = 8", "lanes = 2", ":7: lanes: too few", "need 2 pairs"),
    ("center.toml", "lanes = 8", "lanse = 8", ":7: lanse: unknown key", "did you mean lanes?"),
    ("center.toml", "lanes = 8", "lanse = 8", ":1: lanes: missing", "from 2 to 200 is needed"),
    ("center.toml", "_c = 21.1", "_c = 41", ":8: temperature_c: too large", "from 5 to 40"),
    ("center.toml", "_c = 21.1", "_c = 4", ":8: temperature_c: too small", "you wrote 4"),
    ("center.toml", "_c = 21.1", "_c = nan", ":8: temperature_c: not a finite number", "nan"),
    ("center.toml", "_c = 21.1", "_c = inf", ":8: temperature_c: ", "you wrote inf"),
    ("center.toml", "_c = 21.1", "_c = 1e999", ":8: temperature_c: ", "from 5 to 40"),
    ("center.toml", "_c = 21.1", '_c = "21"', ":8: temperature_c: wrong type", 'you wrote "21"'),
    ("center.toml", '"tuesday_40"', '"tusday_40"', ":9: today: unknown condition", "tuesday_40?"),
    ("center.toml", "tilt_in = 0.0 ", "tilt_in = 0.05 ", ":14: surface.tilt_in: too large", "0.04"),
    ("center.toml", "games = 3", 'games = "3"', ":18: league.games: wrong type", "whole number"),
    ("center.toml", "games = 3", "games = 2020-01-01", ":18: league.games: ", "a date or time"),
    ("center.toml", "invented = true", 'invented = "yes"', ":6: invented: ", "true or false"),
    ("center.toml", "[surface]", "surface = 3\n[other]", "surface: wrong type", "a table"),
    ("center.toml", "games = 3", "games = 3\ngames = 4", ":19: not valid TOML", "Cannot overwrite"),
    ("center.toml", "[league]", "[league", ":16: not valid TOML", "in: [league"),
    ("center.toml", "[league]", 'x = """', "not valid TOML: ", "at the end of the file"),
    ("center.toml", "lanes = 8", "lanes = " + "9" * 5000, "center.toml:1: not valid TOML", ""),
    ("center.toml", "lanes = 8", "lanes = " + "[" * 3000, "not valid TOML", "nested too deeply"),
    ("center.toml", "_c = 21.1", "_c = 1" + "0" * 400, ":8: temperature_c: ", "from 5 to 40"),
    # conditions
    (HOUSE, "from_ft = 0", "from_ft = -2", ":16: band 1: from_ft: too small", "foul line"),
    (HOUSE, "to_ft = 40", "to_ft = 61", ":33: band 3: to_ft: too large", "oil beyond the pins"),
    (HOUSE, "to_ft = 34", "to_ft = 0", ":17: band 1: to_ft: wrong order", "above from_ft (0)"),
    (HOUSE, "from_board = 2", "from_board = 0", ":18: band 1: from_board: too small", "1 to 39"),
    (HOUSE, "to_board = 38", "to_board = 40", ":19: band 1: to_board: too large", "1 to 39"),
    (HOUSE, "to_board = 38", "to_board = 1", ":19: band 1: to_board: wrong order", "you wrote 1"),
    (HOUSE, "ml = 3.8", "ml = 0", ":20: band 1: volume_ml: too small", "above 0 and up to 60 mL"),
    (HOUSE, "ml = 3.8", "ml = -1", ":20: band 1: volume_ml: too small", "you wrote -1"),
    (HOUSE, "ml = 3.8", "ml = 59", ":15: bands: too much oil", "up to 60 mL"),
    (HOUSE, "ml = 3.8", "ml = false", ":20: band 1: volume_ml: wrong type", "a boolean"),
    (
        HOUSE,
        "volume_ml = 3.8",
        "volum_ml = 3.8",
        ":20: band 1: volum_ml: unknown key",
        "mean volume_ml?",
    ),
    (HOUSE, "volume_ml = 3.8", "volum_ml = 3.8", ":15: band 1: volume_ml: missing", "is needed"),
    (HOUSE, "amber = 1.0", "amber = 0.9", ":21: band 1: shares: shares must add up to 1", "0.9"),
    (HOUSE, "amber = 1.0", "ambre = 1.0", ":21: band 1: shares.ambre: unknown", "mean amber?"),
    (HOUSE, "amber = 1.0", "amber = 1.5", ":21: band 1: shares.amber: too large", "from 0 to 1"),
    (HOUSE, "{ amber = 1.0 }", "{}", ":21: band 1: shares: shares must add up to 1", "to 0"),
    (HOUSE, "{ amber = 1.0 }", "1", ":21: band 1: shares: wrong type", "a table"),
    (HOUSE, "title =", "readings = 'a.csv'\ntitle =", "readings: too much", "bands or readings"),
    (HOUSE, "title =", "shares = {amber = 1}\ntitle =", "shares: out of place", "in each band"),
    # conditioners
    ("conditioners/amber.toml", "mpas = 35.0", "mpas = 90", ":4: viscosity_mpas: outside", "12 to"),
    ("conditioners/amber.toml", "mpas = 35.0", "mpas = 11", ":4: viscosity_mpas: outside", "81"),
    ("conditioners/amber.toml", "at_c = 21.1", "at_c = 60", ":4: viscosity_mpas: outside", "60 C"),
    ("conditioners/amber.toml", "= 0.85", "= 1.85", "density_g_per_ml: too large", "g/mL"),
    ("conditioners/amber.toml", "left_behind", "left_behnd", "left_behnd: unknown", "left_behind?"),
    # balls
    ("balls/medium.toml", "mass_lb = 15.0", "mass_lb = 16.5", ":2: mass_lb: too large", "16 lb"),
    ("balls/medium.toml", "rg_in = 2.50", "rg_in = 2.45", ":3: rg_in: too small", "2.46 to 2.8"),
    ("balls/medium.toml", "uin = 25.0", "uin = 51", ":4: roughness_uin: too large", "to 50"),
    ("balls/medium.toml", "_in = 0.040", "_in = 0.07", ":5: differential_in: too large", "0.06"),
    ("balls/spare.toml", "friction = 0.12", "friction = 0.4", "dry_friction: too large", "0.32"),
    # styles
    (
        "styles/stroker.toml",
        '"polished"',
        '"polishd"',
        ":8: bag: ball 2: unknown ball",
        "polished?",
    ),
    ("styles/stroker.toml", '"spare"', '"spear"', ":9: spare_ball: unknown ball", "mean spare?"),
    ("styles/stroker.toml", '["medium", "polished"]', "[]", ":8: bag: too short", "at least 1"),
    ("styles/stroker.toml", "mean = 16.2", "mean = 31", ":31: speed_mph.mean: too large", "30 mph"),
    ("styles/stroker.toml", "mean = 16.2", "mean = 12", ":31: speed_mph.mean: wrong order", "low"),
    ("styles/stroker.toml", "high = 310", "high = 705", "rev_rate_rpm.high: too large", "700 rpm"),
    ("styles/stroker.toml", "[speed_mph]", "[sped_mph]", "sped_mph: unknown key", "speed_mph?"),
    ("styles/stroker.toml", "[speed_mph]", "[sped_mph]", ":1: speed_mph: missing", "mean, sd, low"),
    ("styles/stroker.toml", "balls = 2 ", "balls = 0 ", "move_after_balls: too small", "from 1"),
    (
        "styles/stroker.toml",
        "board = 6 ",
        "board = -1 ",
        "farthest_move_board: too small",
        "from 0",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "start", "part"), CASES)
def test_center_fault_is_told(
    folder: Path, edit: Edit, file: str, old: str, new: str, start: str, part: str
) -> None:
    edit(file, old, new)
    told = [text for text in faults(folder) if text.startswith(file) and start in text]
    assert len(told) == 1
    assert part in told[0]


def test_center_tells_all_faults_of_all_files_at_once_in_order(folder: Path, edit: Edit) -> None:
    edit("center.toml", "_c = 21.1", "_c = 99")
    edit("center.toml", "games = 3", "games = 0")
    edit(HOUSE, "from_ft = 0", "from_ft = -1")
    edit(HOUSE, "{ amber = 1.0 }", "{ slte = 1.0 }")
    edit("balls/medium.toml", "mass_lb = 15.0", "mass_lb = 3")
    edit("styles/power.toml", '"sanded"', '"sand"')
    edit("roster.csv", "stroker", "strokr")
    places = [text.split(": ")[0] for text in faults(folder)]
    assert places == [
        "center.toml:8",
        "center.toml:18",
        f"{HOUSE}:16",
        f"{HOUSE}:21",
        "balls/medium.toml:2",
        "styles/power.toml:8",
        "roster.csv:2",
    ]


def test_center_one_fault_of_many_bands_is_told_once_a_file(folder: Path) -> None:
    (folder / "conditioners" / "amber.toml").unlink()
    shutil.copy(folder / HOUSE, folder / "conditions" / "copy.toml")
    bands = ", ".join(str(band) for band in range(1, 12))
    said = (
        f"21: bands {bands}: shares.amber: unknown conditioner: allowed are slate, "
        'you wrote "amber"'
    )
    assert faults(folder) == [f"conditions/copy.toml:{said}", f"{HOUSE}:{said}"]


def test_center_faults_of_bands_that_differ_stay_apart(folder: Path, edit: Edit) -> None:
    edit(HOUSE, "{ amber = 1.0 }", "{ ambre = 1.0 }")
    edit(HOUSE, "{ amber = 1.0 }", "{ amber = 0.9 }")
    edit(HOUSE, "{ amber = 1.0 }", "{ ambre = 1.0 }")
    keys = [text.split(": ", 1)[1].split(": unknown")[0] for text in faults(folder)]
    assert keys[0] == "bands 1, 3: shares.ambre"
    assert keys[1].startswith("band 2: shares: shares must add up to 1")
    assert len(keys) == 2


def test_center_broken_file_is_not_also_an_unknown_name(folder: Path, edit: Edit) -> None:
    edit("conditioners/amber.toml", "viscosity_mpas = 35.0", "viscosity_mpas = ")
    edit("styles/stroker.toml", "[speed_mph]", "[speed_mph")
    assert [text.split(":")[0] for text in faults(folder)] == [
        "conditioners/amber.toml",
        "styles/stroker.toml",
    ]


def test_center_viscosity_at_another_temperature_is_carried_to_the_limit(
    folder: Path, edit: Edit
) -> None:
    """10 mPa.s at 40 C thickens by 22 % per 10 F to about 24 at 21.1 C: legal."""
    edit("conditioners/amber.toml", "viscosity_mpas = 35.0", "viscosity_mpas = 10")
    edit("conditioners/amber.toml", "viscosity_at_c = 21.1", "viscosity_at_c = 40")
    assert read(folder).conditioners["amber"].viscosity_mpas == 10.0


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("center.toml", "center.toml: missing file"),
        ("roster.csv", "roster.csv: missing file"),
        ("conditions", "conditions: missing folder"),
        ("conditioners", "conditioners: missing folder"),
        ("balls", "balls: missing folder"),
        ("styles", "styles: missing folder"),
    ],
)
def test_center_missing_part_is_told(folder: Path, name: str, words: str) -> None:
    (folder / name).rename(folder.parent / "elsewhere")
    assert any(text.startswith(words) for text in faults(folder))


def test_center_misspelt_folder_gets_a_hint(folder: Path) -> None:
    (folder / "conditions").rename(folder / "condition")
    assert any("conditions: missing folder" in t and "mean condition?" in t for t in faults(folder))


def _filled(folder: Path, people: str) -> None:
    """A center whose league a population fills up."""
    (folder / "populations").mkdir(exist_ok=True)
    (folder / "populations" / "open.toml").write_text(
        "styles = { stroker = 0.5, casual = 0.5 }\n", encoding="utf-8"
    )
    toml = (folder / "center.toml").read_text(encoding="utf-8")
    head, tail = toml.split("[league]\n")
    (folder / "center.toml").write_text(f"{head}[league]\n{people}{tail}", encoding="utf-8")


def test_a_population_fills_the_league_up_behind_the_roster(folder: Path) -> None:
    known = read(folder).roster
    n = len(known) + 8
    _filled(folder, f'population = "open"\npeople = {n}\n')
    made = read(folder)
    assert made.roster[: len(known)] == known
    assert len(made.roster) == n
    assert {line.style for line in made.roster[len(known) :]} <= {"stroker", "casual"}
    assert read(folder).roster == made.roster
    (folder / "roster.csv").unlink()
    drawn = read(folder).roster
    assert len(drawn) == n
    assert drawn[:8] == made.roster[len(known) :]


@pytest.mark.parametrize(
    ("people", "said"),
    [
        (
            'population = "opn"\npeople = 40\n',
            "league.population: unknown population: allowed are open",
        ),
        (
            'population = "open"\n',
            "league.people: missing: with a population the number of bowlers",
        ),
        ("people = 40\n", "league.people: says nothing without a population"),
        ('population = "open"\npeople = 2\n', "league.people: too small:"),
        ('population = "open"\npeople = 0\n', "league.people: too small: allowed is"),
        ('population = "open"\npeople = 900\n', "lanes: too few: the"),
    ],
)
def test_a_population_that_cannot_fill_a_league_is_told(
    folder: Path, people: str, said: str
) -> None:
    _filled(folder, people)
    assert any(said in fault for fault in faults(folder)), faults(folder)


@pytest.mark.parametrize("name", ["surface", "Surfaces", "surfces"])
def test_center_misspelt_optional_folder_is_told(folder: Path, name: str) -> None:
    shutil.rmtree(folder / "surfaces")
    (folder / name).mkdir()
    if (folder / "surfaces").is_dir():
        pytest.skip("a file system blind to case reads it")
    (folder / name / "notes.txt").write_text("left alone", encoding="utf-8")
    read(folder)
    (folder / name / "wood.toml").write_text('name = "wood"\n', encoding="utf-8")
    assert faults(folder) == [
        f"{name}: unknown folder: allowed are balls, conditioners, conditions, goals, "
        f"populations, styles, surfaces, tournaments, "
        f'you wrote "{name}"; did you mean surfaces?'
    ]


def test_center_folder_like_no_other_is_told_without_a_hint(folder: Path) -> None:
    (folder / "xyz").mkdir()
    (folder / "xyz" / "wood.toml").write_text('name = "wood"\n', encoding="utf-8")
    (folder / ".git").mkdir()
    (folder / ".git" / "x.toml").write_text("", encoding="utf-8")
    (told,) = faults(folder)
    assert told.startswith("xyz: unknown folder")
    assert "did you mean" not in told


def test_center_misspelt_needed_folder_is_told_once(folder: Path) -> None:
    (folder / "styles").rename(folder / "style")
    assert sum("folder" in text for text in faults(folder)) == 1


def test_center_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ProfileError, match="nope: missing folder"):
        read(tmp_path / "nope")
    with pytest.raises(ProfileError, match=r"missing folder|cannot be read"):
        read("no\0pe")


def test_center_file_instead_of_folder(folder: Path) -> None:
    with pytest.raises(ProfileError, match="this is a file; the center's folder is needed"):
        read(folder / "center.toml")


def test_center_empty_folder(tmp_path: Path) -> None:
    texts = faults(tmp_path)
    assert len(texts) == 6


@pytest.mark.parametrize("file", ["center.toml", HOUSE, "roster.csv"])
def test_center_text_that_is_not_utf8(folder: Path, file: str) -> None:
    path = folder / file
    path.write_bytes(b"# one\n# caf\xe9\n" + path.read_bytes())
    (text,) = [t for t in faults(folder) if "UTF-8" in t]
    how = " (in the spreadsheet: Save as, CSV UTF-8)" if file.endswith(".csv") else ""
    assert text == f"{file}:2: not UTF-8 text (byte 0xe9): save it as UTF-8{how}"


def test_center_byte_order_mark_is_tolerated(folder: Path) -> None:
    for file in ("center.toml", HOUSE, "roster.csv"):
        path = folder / file
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert len(read(folder).roster) == 16


def test_center_hidden_and_other_files_are_left_alone(folder: Path) -> None:
    (folder / "conditions" / ".draft.toml").write_text("not toml", encoding="utf-8")
    (folder / "conditions" / "notes.txt").write_text("not toml", encoding="utf-8")
    assert sorted(read(folder).conditions) == ["thursday_42", "tuesday_40"]


def test_center_after_is_read_and_checked(folder: Path, edit: Edit) -> None:
    path = folder / HOUSE
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text + "[after]\ngames_per_lane = 6\nstyles = { casual = 0.5, stroker = 0.5 }\n", "utf-8"
    )
    after = read(folder).conditions["tuesday_40"].after
    assert after is not None
    assert after.games_per_lane == 6
    assert after.styles == (("casual", 0.5), ("stroker", 0.5))
    path.write_text(text + "[after]\ngames_per_lane = -1\nstyles = { strokr = 0.4 }\n", "utf-8")
    texts = faults(folder)
    assert len(texts) == 3
    assert any("after.games_per_lane: too small" in t for t in texts)
    assert any("after.styles.strokr: unknown style" in t and "stroker?" in t for t in texts)
    assert any("after.styles: shares must add up to 1" in t for t in texts)


def test_center_find_condition_suggests(folder: Path) -> None:
    center: Center = read(folder)
    assert find_condition(center, "thursday_42").name == "thursday_42"
    with pytest.raises(
        InputError, match=r"there are thursday_42, tuesday_40; did you mean thu"
    ) as e:
        find_condition(center, "Thursday_4")
    assert e.value.exit_code == 2
    with pytest.raises(InputError, match="not found") as e:
        find_condition(center, "zzz")
    assert "did you mean" not in str(e.value)


def test_center_odd_names_stay_on_one_line(folder: Path) -> None:
    (folder / "balls" / "two\nlines.toml").write_text("mass_lb = 3\n", encoding="utf-8")
    texts = faults(folder)
    assert any("file name not usable" in t for t in texts)


def test_center_demo_is_what_it_says() -> None:
    center = read(demo_center())
    assert center.invented
    assert center.lanes == 12
    assert len(center.roster) == 48
    teams = [line.team for line in center.roster]
    assert {teams.count(team) for team in teams} == {4}
    assert len(set(teams)) == 12
    styles = {line.style for line in center.roster}
    assert styles == set(center.styles)
    assert {"straight", "stroker", "tweener", "power", "two_handed"} <= styles
    left = [line for line in center.roster if line.hand == "left"]
    assert 0.12 <= len(left) / 48 <= 0.16
    assert len({line.style for line in left}) >= 5
    assert len(center.conditions) == 3
    blend = center.conditions["tuesday_40_blend"]
    assert all(len(band.shares) == 2 for band in blend.bands)


def test_center_two_files_for_one_name(folder: Path) -> None:
    shutil.copy(folder / "balls" / "medium.toml", folder / "balls" / "medium.TOML")
    if len(list((folder / "balls").iterdir())) > 6:  # not on a file system blind to case
        assert any('balls: two files for one name: "medium"' in t for t in faults(folder))


def test_center_file_that_cannot_be_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = Path.read_bytes

    def locked(self: Path) -> bytes:
        if self.name in ("center.toml", "roster.csv"):
            raise PermissionError(13, "Permission denied")
        return whole(self)

    monkeypatch.setattr(Path, "read_bytes", locked)
    assert faults(folder) == [
        "center.toml: cannot be read: Permission denied",
        "roster.csv: cannot be read: Permission denied",
    ]


def test_center_file_of_an_absurd_length(folder: Path) -> None:
    (folder / "roster.csv").write_bytes(b"bowler," * 800_000)
    assert faults(folder) == ["roster.csv: too long: allowed are 5 MB"]


def test_center_folder_where_a_file_is_needed(folder: Path) -> None:
    (folder / "center.toml").unlink()
    (folder / "center.toml").mkdir()
    assert faults(folder) == ["center.toml: a folder where a file is needed"]


def test_center_surfaces_are_read_and_checked(folder: Path) -> None:
    shutil.rmtree(folder / "surfaces")
    (folder / "surfaces").mkdir()
    path = folder / "surfaces" / "wood.toml"
    path.write_text('name = "wood"\nroughness_uin = 30\ntilt_in = -0.02\n', encoding="utf-8")
    assert read(folder).surfaces == {"wood": Surface("wood", 30.0, -0.02)}
    path.write_text("roughness_uin = 90\n", encoding="utf-8")
    assert faults(folder)[0].startswith("surfaces/wood.toml:1: roughness_uin: too large")
