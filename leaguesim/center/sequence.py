"""A dated sequence of conditions: a CSV file of ``date, condition``, checked against a center.

Does not play it; the study room compares it with one jump.
"""

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from hashlib import sha256
from pathlib import Path

from leaguesim.center.faults import Faults, did_you_mean, listing, shown, unknown, wrote
from leaguesim.center.sheet import Sheet, read_sheet
from leaguesim.center.values import Center
from leaguesim.errors import InputError, ProfileError

FOLDER = "sequences"
NEEDED = ("date", "condition")
FEWEST = 2
MOST_WEEKS = 52  # from the first date to the last


@dataclass(frozen=True)
class DatedConditions:
    """Which condition lies from which day on, in order of days; the file it came from."""

    steps: tuple[tuple[date, str], ...]
    file: str = ""
    digest: str = ""  # SHA-256 of the file

    @property
    def weeks(self) -> int:
        """Weeks from the first date to the week of the last, that one not counted."""
        return (self.steps[-1][0] - self.steps[0][0]).days // 7

    def day(self, week: int) -> date:
        """First day of a week; week 0 starts on the first date."""
        return self.steps[0][0] + timedelta(weeks=week)

    def condition(self, week: int) -> str:
        """The condition on the first day of a week."""
        return [c for d, c in self.steps if d <= self.day(week)][-1]


def find_sequence(center: Center, name: str | Path) -> DatedConditions:
    """The dated conditions of a CSV file, or of one in the center's folder ``sequences``.

    Parameters
    ----------
    name : a path, or the name of a file in ``sequences`` with or without .csv

    Raises
    ------
    InputError : no such file
    ProfileError : with every fault of the file: unknown condition, a day that is none, days not in
        order or less than a week apart, fewer than two rows
    """
    path = _place(center, Path(name))
    file, faults, held = shown(path.as_posix()), Faults(), dict[str, bytes]()
    sheet = read_sheet(
        path, file, needed=NEEDED, optional=(), faults=faults, hashes=held, others={"day": "date"}
    )
    steps = () if sheet is None else _steps(sheet, center, faults)
    if faults.found:
        raise ProfileError(faults.lines())
    return DatedConditions(steps, path.name, sha256(held[file]).hexdigest())


def check_sequence(dated: DatedConditions, after: str) -> None:
    """Refuse dated conditions that do not end where going over at once does (InputError)."""
    last = dated.steps[-1][1]
    if last != after:
        raise InputError(
            f"{dated.file}: ends on {last}, but the condition to come is {after}: both ways must end "
            "on the same one"
        )


def with_sequence(center: Center, steps: DatedConditions) -> Center:
    """The center with the file among its inputs, for the manifest."""
    mark = {f"{FOLDER}/{steps.file}": steps.digest}
    return replace(center, file_hashes={**center.file_hashes, **mark})


def _place(center: Center, given: Path) -> Path:
    with suppress(OSError, ValueError):  # a name too long for a path, or with a NUL in it
        if given.is_file():
            return given
    folder = center.folder / FOLDER
    there = {p.stem: p for p in sorted(folder.glob("*.csv"))}
    # A path into the folder, written down elsewhere, still means this center's file.
    plain = given.parent.name in ("", FOLDER)
    if plain and given.name.removesuffix(".csv") in there:
        return there[given.name.removesuffix(".csv")]
    raise InputError(
        f"sequence {wrote(str(given))} not found: neither a file nor a name in "
        f"{shown(folder.as_posix())}, where there are {listing(there)}{did_you_mean(given.stem, there)}"
    )


def _steps(sheet: Sheet, center: Center, faults: Faults) -> tuple[tuple[date, str], ...]:
    steps: list[tuple[date, str]] = []
    for line, row in sheet.rows:
        condition = row["condition"]
        if condition not in center.conditions:
            text = unknown("condition", condition, center.conditions)
            faults.add(sheet.file, line, "condition", text)
        try:
            day = date.fromisoformat(row["date"])
        except ValueError:
            text = f"not a day: allowed is year-month-day, you wrote {wrote(row['date'])}"
            faults.add(sheet.file, line, "date", text)
            continue
        if steps and (day - steps[-1][0]).days < 7:
            text = (
                "wrong order: each date must be a week or more after the one before "
                f"({steps[-1][0].isoformat()}), you wrote {day.isoformat()}"
            )
            faults.add(sheet.file, line, "date", text)
            continue
        steps.append((day, condition))
    if len(sheet.rows) < FEWEST:
        text = (
            f"too few rows: a sequence has {FEWEST} conditions or more, you wrote {len(sheet.rows)}"
        )
        faults.add(sheet.file, sheet.header_line, "", text)
    elif steps and (steps[-1][0] - steps[0][0]).days > 7 * MOST_WEEKS:
        text = f"too long: allowed are {MOST_WEEKS} weeks from the first date to the last"
        faults.add(sheet.file, sheet.rows[-1][0], "date", text)
    return tuple(steps)
