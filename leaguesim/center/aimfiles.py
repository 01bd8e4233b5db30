"""The reader of goals/ and tournaments/: one file, all its faults at once.

Does not search and does not play.
"""

from typing import TypeVar

from leaguesim.center.faults import Faults, did_you_mean, listing, shown, unknown, wrote
from leaguesim.center.keys import File
from leaguesim.center.tournament_models import GoalFile, LimitsTable, TournamentFile
from leaguesim.center.validate import Source, check_model, parse, read_text
from leaguesim.center.values import Center
from leaguesim.errors import InputError, ProfileError
from leaguesim.play.aims import KINDS, Goal, Limits, Machine, Tournament

_F = TypeVar("_F", bound=File)


def _load(center: Center, folder: str, name: str, model: type[_F]) -> tuple[Source, _F, Faults]:
    there = sorted(p.stem for p in (center.folder / folder).glob("*.toml"))
    if name not in there:
        words = KINDS if folder == "goals" else ()
        raise InputError(
            f"{folder.removesuffix('s')} {wrote(name)} not found in "
            f"{shown((center.folder / folder).as_posix())}: there are {listing([*there, *words])}"
            f"{did_you_mean(name, [*there, *words])}"
        )
    path = center.folder / folder / f"{name}.toml"
    faults, file = Faults(), shown(path.as_posix())
    got = read_text(path, file, faults)
    source = parse(got[0], file, faults) if got else None
    made = check_model(source, model, faults) if source else None
    if source is None or not isinstance(made, model):
        raise ProfileError(faults.lines())
    return source, made, faults


def _span(source: Source, limits: LimitsTable, low: str, high: str, faults: Faults) -> None:
    """An end that the file leaves out has its starting value, and counts too."""
    ends = getattr(limits, low), getattr(limits, high)
    if ends[0] <= ends[1]:
        return
    table = source.data.get("limits", {})
    if high in table:
        key, text = high, f"it must not be below {low} ({ends[0]:g}), you wrote {ends[1]:g}"
    else:
        key, text = low, f"it must not be above {high} ({ends[1]:g}), you wrote {ends[0]:g}"
    faults.add(source.file, source.line(("limits", key)), f"limits.{key}", f"wrong order: {text}")


def _people(center: Center, source: Source, name: str, faults: Faults) -> None:
    if name not in center.populations:
        text = unknown("population", name, center.populations)
        faults.add(source.file, source.line(("population",)), "population", text)


def find_goal(center: Center, name: str, target: float | None = None) -> Goal:
    """The goal of that file in goals/, or a plain kind of goal with starting values.

    Raises
    ------
    InputError : unknown goal, an average without target, or faults of the file, all at once
    """
    there = {p.stem for p in (center.folder / "goals").glob("*.toml")}
    if name in KINDS and name not in there:
        _no_target(name, name, target)
        return _checked(Goal(name=name, kind=name, target=target))
    source, file, faults = _load(center, "goals", name, GoalFile)
    for what in ("length_{}_ft", "volume_{}_ml", "ratio_right_{}", "ratio_left_{}"):
        _span(source, file.limits, what.format("low"), what.format("high"), faults)
    for i, oil in enumerate(file.conditioners):
        if oil not in center.conditioners:
            text = unknown("conditioner", oil, center.conditioners)
            faults.add(source.file, source.line(("conditioners", i)), "conditioners", text)
    if file.population:
        _people(center, source, file.population, faults)
    if faults.found:
        raise ProfileError(faults.lines())
    rest = file.model_dump(exclude={"goal", "limits", "machine", "conditioners"})
    _no_target(name, file.goal, target)
    rest["target"] = file.target if target is None else target
    return _checked(
        Goal(
            name=name,
            kind=file.goal,
            conditioners=tuple(dict.fromkeys(file.conditioners)),
            limits=Limits(**file.limits.model_dump()),
            machine=Machine(**file.machine.model_dump()),
            **rest,
        )
    )


def _no_target(name: str, kind: str, target: float | None) -> None:
    """A target that was asked for must be one that is used."""
    if target is not None and kind != "average":
        raise InputError(
            f"--target: belongs to the goal average, and goal {name} is {kind}: leave it out"
        )


def _checked(goal: Goal) -> Goal:
    if goal.kind == "average" and goal.target is None:
        raise InputError(
            f"goal {goal.name}: an average needs a target: write target = 190.0 in the goal's file "
            "or give --target 190"
        )
    if goal.target is not None and not 60.0 <= goal.target <= 290.0:
        raise InputError(f"target: a number from 60 to 290 pins is needed, got {goal.target:g}")
    return goal


def find_tournament(center: Center, name: str) -> Tournament:
    """The tournament of that file in tournaments/.

    Raises
    ------
    InputError : no such file, or its faults, all at once
    """
    source, file, faults = _load(center, "tournaments", name, TournamentFile)
    for i, condition in enumerate(file.conditions):
        if condition not in center.conditions:
            text = unknown("condition", condition, center.conditions)
            faults.add(source.file, source.line(("conditions", i)), "conditions", text)
    if file.field == "population" or file.population:
        _people(center, source, file.population, faults)
    if file.population and file.field != "population":
        text = 'not used: it needs field = "population"'
        faults.add(source.file, source.line(("population",)), "population", text)
    entrants = len(center.roster) if file.field == "roster" else file.entrants
    for key, value in (("cut", file.cut), ("finalists", file.finalists)):
        top = entrants - 1 if key == "cut" else file.cut
        if value > top:
            text = f"too large: allowed is a number up to {top}, you wrote {value}"
            faults.add(source.file, source.line((key,)), key, text)
    if entrants < 2 * file.squads:
        text = f"too large: {entrants} entrants make no {file.squads} squads of two or more"
        faults.add(source.file, source.line(("squads",)), "squads", text)
    if faults.found:
        raise ProfileError(faults.lines())
    rest = file.model_dump(exclude={"conditions"})
    rest["entrants"] = entrants
    return Tournament(name=name, conditions=tuple(file.conditions), **rest)
