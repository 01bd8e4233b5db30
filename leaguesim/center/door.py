"""The door to a center folder: every file read and checked, all faults told at once.

Does not simulate and does not write.
"""

import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import replace
from hashlib import sha256
from math import ceil
from os import PathLike
from pathlib import Path
from typing import NamedTuple, TypeVar, cast

from leaguesim.bowlers.populate import TEAM_SIZE, people_of
from leaguesim.bowlers.values import RosterLine
from leaguesim.center import checks, convert, models, tables
from leaguesim.center.faults import Faults, did_you_mean, listing, nearest, shown, unknown, wrote
from leaguesim.center.keys import VOLUME_MAX_ML, File
from leaguesim.center.models_play import BallFile, StyleFile
from leaguesim.center.populations import PopulationFile, population
from leaguesim.center.validate import Source, check_model, parse, read_text
from leaguesim.center.values import Center
from leaguesim.center.wearfile import WEAR_FILE, read_film_readings
from leaguesim.errors import InputError, ProfileError
from leaguesim.lane.values import Condition, FilmReading, Readings

FOLDERS = {  # folder: (kind of file, needed)
    "conditions": ("condition", True),
    "conditioners": ("conditioner", True),
    "balls": ("ball", True),
    "styles": ("style", True),
    "surfaces": ("surface", False),
    "goals": ("goal", False),
    "tournaments": ("tournament", False),
    "populations": ("population", False),
}
PEOPLE_SEED = 1  # who fills a league up belongs to the center, not to a run's luck
_F = TypeVar("_F", bound=File)
_CSV_NAME = re.compile(r"[^/\\:\x00-\x1f]+\.csv", re.IGNORECASE)


class _Found(NamedTuple):
    """A TOML file: what it says, and what its model made of it (None where faulty)."""

    source: Source | None
    file: File | None


def read(path: str | PathLike[str]) -> Center:
    """Read a center folder.

    Parameters
    ----------
    path : folder with center.toml, roster.csv, conditions/, conditioners/, balls/, styles/

    Raises
    ------
    ProfileError : with every fault of every file, ``file:line: key: what is wrong, what is
        allowed, what you wrote; did you mean``
    """
    folder = Path(path)
    try:
        is_folder = folder.is_dir()
    except (OSError, ValueError) as fault:
        raise ProfileError([f"{shown(str(path))}: cannot be read: {fault}"]) from None
    if not is_folder:
        what = (
            "this is a file; the center's folder is needed"
            if folder.exists()
            else ("missing folder: a center is a folder with center.toml and roster.csv in it")
        )
        raise ProfileError([f"{shown(folder.as_posix())}: {what}"])
    return _Reading(folder).run()


def find_condition(center: Center, name: str) -> Condition:
    """The condition of that name.

    Raises
    ------
    InputError : there is none; the message lists them and the nearest name
    """
    if name in center.conditions:
        return center.conditions[name]
    raise InputError(
        f"condition {wrote(name)} not found in {shown(center.folder.as_posix())}: there are "
        f"{listing(center.conditions)}{did_you_mean(name, center.conditions)}"
    )


def on_surface(center: Center, name: str | None) -> Center:
    """The center with its comparisons asked for on another of its surfaces; None: on its own.

    Raises
    ------
    InputError : there is no such surface; the message lists them and the nearest name
    """
    if name is None:
        return center
    if name in center.surfaces:
        return replace(center, played_on=name)
    there = listing(center.surfaces) if center.surfaces else "no files in surfaces/"
    raise InputError(
        f"surface {wrote(name)} not found in {shown(center.folder.as_posix())}: there are {there}"
        f"{did_you_mean(name, center.surfaces)}"
    )


def _of(found: Mapping[str, dict[str, _Found]], name: str, kind: type[_F]) -> dict[str, _F]:
    """The checked files of one folder, sorted by name."""
    return {
        stem: file
        for stem, (_, file) in sorted(found[name].items(), key=lambda pair: pair[0])
        if isinstance(file, kind)
    }


def _filled_up(center: Center, league: models.LeagueTable) -> Center:
    """The center with people of its population behind those on the roster, the same ones every time."""
    if league.population is None or league.people is None:
        return center
    population, n = center.populations[league.population], league.people
    people = people_of(population, center.styles, n, PEOPLE_SEED, roster=center.roster)
    return replace(center, roster=people)


class _Reading:
    """One pass over a folder; keeps faults, bytes and what was found so far."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.faults = Faults()
        self.bytes: dict[str, bytes] = {}  # by label, what reports call a file
        self.names: dict[str, str] = {}  # label: path inside the folder

    def label(self, path: Path) -> str:
        text = shown(path.as_posix())
        self.names[text] = path.relative_to(self.folder).as_posix()
        return text

    def run(self) -> Center:
        center = self.toml(self.folder / "center.toml", "center")
        found = {name: self.files(name) for name in FOLDERS}
        self.strange_folders()
        self.across(center, found)
        readings = self.readings(found["conditions"])
        roster_file = self.label(self.folder / "roster.csv")
        league = center.file.league if isinstance(center.file, models.CenterFile) else None
        filled = league is not None and league.population is not None
        roster = tables.read_roster(
            self.folder / "roster.csv",
            roster_file,
            found["styles"].keys(),
            self.faults,
            self.bytes,
            needed=not filled,
        )
        if center.source is not None:
            checks.check_people(
                center.source, found["populations"].keys(), len(roster), roster_file, self.faults
            )
            people = league.people if league is not None and league.people else 0
            drawn = max(people - len(roster), 0)
            teams = len({line.team for line in roster}) + ceil(drawn / TEAM_SIZE)
            checks.check_teams(center.source, teams, roster_file, self.faults)
        worn = self.film_readings(found["conditions"].keys())
        if self.faults.found:
            raise ProfileError(self.faults.lines())
        made = self.center(cast(models.CenterFile, center.file), found, readings, roster)
        made = replace(made, film_readings=worn)
        return made if league is None else _filled_up(made, league)

    def toml(self, path: Path, kind: str) -> _Found:
        """One TOML file against its model."""
        file = self.label(path)
        got = read_text(path, file, self.faults)
        if got is None:
            return _Found(None, None)
        text, self.bytes[file] = got
        source = parse(text, file, self.faults)
        if source is None:
            return _Found(None, None)
        return _Found(source, check_model(source, models.MODELS[kind], self.faults))

    def files(self, name: str) -> dict[str, _Found]:
        """Every TOML file of one folder by its name without .toml, sorted."""
        kind, needed = FOLDERS[name]
        folder = self.folder / name
        label = self.label(folder)
        self.faults.open(label)
        try:
            there = sorted(p for p in folder.iterdir() if self.wanted(p)) if folder.is_dir() else []
            beside = [p.name for p in self.folder.iterdir() if p.is_dir()]
        except OSError as fault:
            self.faults.add(label, None, "", f"cannot be read: {fault.strerror or fault}")
            return {}
        if not there and needed:
            what = f"no {kind}: at least one .toml file is needed"
            if not folder.is_dir():
                others = [other for other in beside if other not in FOLDERS]
                what = f"missing folder: it holds the {name}{did_you_mean(name, others)}"
            self.faults.add(label, None, "", what)
        found: dict[str, _Found] = {}
        for path in there:
            stem = unicodedata.normalize("NFC", path.stem)
            if not stem.isprintable() or len(stem) > tables.NAME_LIMIT:
                self.faults.add(label, None, "", f"file name not usable: {wrote(path.name)}")
            if stem in found:
                self.faults.add(label, None, "", f"two files for one name: {wrote(stem)}")
            found[stem] = self.toml(path, kind)
        return found

    def strange_folders(self) -> None:
        """Folders with TOML files that nobody reads; a missing folder's hint has said its own."""
        known = [self.folder / name for name in FOLDERS if (self.folder / name).is_dir()]
        try:
            beside = sorted(p for p in self.folder.iterdir() if not p.name.startswith("."))
        except OSError:
            return  # said already for the folders that are needed
        for path in beside:
            if path.name in FOLDERS:
                continue
            close = nearest(path.name, FOLDERS)
            told = close and FOLDERS[close][1] and self.folder / close not in known
            if not told and self.strange(path, known):
                self.faults.add(self.label(path), None, "", unknown("folder", path.name, FOLDERS))

    def strange(self, path: Path, known: Collection[Path]) -> bool:
        """Whether this is a folder of TOML files and none of the known ones."""
        try:
            if not path.is_dir() or any(path.samefile(other) for other in known):
                return False
            return any(self.wanted(file) for file in path.iterdir())
        except OSError:
            return False  # one that can't be looked into

    @staticmethod
    def wanted(path: Path) -> bool:
        return path.suffix.lower() == ".toml" and not path.name.startswith(".")

    def across(self, center: _Found, found: Mapping[str, dict[str, _Found]]) -> None:
        """Checks that need more than one key or more than one file."""
        if center.source is not None:
            checks.check_center(
                center.source, found["conditions"].keys(), found["styles"].keys(), self.faults
            )
        for condition in found["conditions"].values():
            if condition.source is not None:
                checks.check_condition(
                    condition.source,
                    found["conditioners"].keys(),
                    found["styles"].keys(),
                    self.faults,
                )
        figured = {
            name
            for name, (source, _) in found["conditioners"].items()
            if source is None or "than" not in source.data
        }
        for conditioner in found["conditioners"].values():
            if conditioner.source is not None:
                checks.check_conditioner(conditioner.source, self.faults)
                checks.check_words(conditioner.source, figured, self.faults)
        for people in found["populations"].values():
            if people.source is not None:
                checks.check_population(people.source, found["styles"].keys(), self.faults)
        for style in found["styles"].values():
            if style.source is not None:
                checks.check_style(style.source, found["balls"].keys(), self.faults)

    def readings(self, conditions: Mapping[str, _Found]) -> dict[str, Readings]:
        """Measured film by condition; the file must lie beside the condition that names it."""
        made = {}
        for name, (source, file) in conditions.items():
            csv_name = source.data.get("readings") if source is not None else None
            if source is None or not isinstance(csv_name, str) or not csv_name:
                continue
            if not _CSV_NAME.fullmatch(csv_name):
                self.faults.add(
                    source.file,
                    source.line(("readings",)),
                    "readings",
                    "not a plain file name: allowed is the name of a .csv file in the same "
                    f"folder, you wrote {wrote(csv_name)}",
                )
                continue
            path = self.folder / "conditions" / csv_name
            if not path.exists():
                there = [p.name for p in path.parent.glob("*.csv")]
                self.faults.add(
                    source.file,
                    source.line(("readings",)),
                    "readings",
                    f"missing file: there are {listing(there)}, you wrote {wrote(csv_name)}"
                    f"{did_you_mean(csv_name, there)}",
                )
                continue
            shares = file.shares if isinstance(file, models.ConditionFile) else None
            readings = tables.read_readings(
                path,
                self.label(path),
                convert.shares(shares) if shares and sum(shares.values()) else (),
                VOLUME_MAX_ML,
                self.faults,
                self.bytes,
            )
            if readings is not None:
                made[name] = readings
        return made

    def film_readings(self, conditions: Collection[str]) -> tuple[FilmReading, ...]:
        """Film before and after blocks of games, where the center has measured it."""
        path = self.folder / WEAR_FILE
        if not path.exists():
            return ()
        return read_film_readings(path, self.label(path), conditions, self.faults, self.bytes)

    def center(
        self,
        file: models.CenterFile,
        found: Mapping[str, dict[str, _Found]],
        readings: Mapping[str, Readings],
        roster: tuple[RosterLine, ...],
    ) -> Center:
        """The checked files as one frozen value."""

        hashes = {self.names[label]: sha256(raw).hexdigest() for label, raw in self.bytes.items()}
        return Center(
            name=file.name,
            folder=self.folder,
            invented=file.invented,
            lanes=file.lanes,
            temperature_c=file.temperature_c,
            surface=convert.surface(file.surface),
            surfaces={
                k: convert.surface(f) for k, f in _of(found, "surfaces", models.SurfaceFile).items()
            },
            lane_states=convert.lane_states(file.single_lane),
            friction=convert.friction(file.friction),
            league=convert.league(file.league),
            thresholds=convert.thresholds(file.kept_happy),
            prices=convert.prices(file.prices),
            fairness=convert.fairness(file.fairness),
            today=file.today,
            conditions={
                k: convert.condition(k, f, readings.get(k), file.league.after)
                for k, f in _of(found, "conditions", models.ConditionFile).items()
            },
            conditioners=convert.conditioners(_of(found, "conditioners", models.ConditionerFile)),
            lane_doubt=convert.lane_doubt(file.doubts),
            balls={k: convert.ball(k, f) for k, f in _of(found, "balls", BallFile).items()},
            styles={k: convert.style(k, f) for k, f in _of(found, "styles", StyleFile).items()},
            roster=roster,
            populations={
                k: population(k, f) for k, f in _of(found, "populations", PopulationFile).items()
            },
            file_hashes=dict(sorted(hashes.items())),
        )
