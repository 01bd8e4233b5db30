"""What the house promises: one-way imports, tidy top level, declared columns, public names."""

import importlib
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import leaguesim
from leaguesim import tables

ROOT = Path(leaguesim.__file__).parents[1]
CHECKOUT = (ROOT / "pyproject.toml").is_file()
in_checkout = pytest.mark.skipif(not CHECKOUT, reason="installed package, no checkout")
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "leaguesim", "tests", "profiles", "reports"}
PUBLIC = {
    "leaguesim.scoring": ["game_score", "running_totals", "score_distribution", "count_games"],
    "leaguesim.ball": ["Ball", "Release", "roll", "BallPath"],
    "leaguesim.lane": ["Lane"],
    "leaguesim.pins": ["CarryLibrary"],
    "leaguesim.study": ["compare", "look"],
    "leaguesim.center": [
        "read", "write_starter", "demo_center", "starter_folder", "schemas", "find_condition",
    ],
    "leaguesim.report": [
        "compare_page", "lane_page", "compare_text", "lane_text", "compare_csv", "lane_csv",
    ],
}  # fmt: skip


@in_checkout
@pytest.mark.slow
def test_lower_rooms_never_import_upper_ones():
    tool = shutil.which("lint-imports") or str(Path(sys.executable).with_name("lint-imports"))
    if not Path(tool).exists():
        pytest.skip("import-linter is not installed")
    done = subprocess.run([tool, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout


@in_checkout
def test_the_top_level_holds_nothing_else():
    """Only what git knows counts: caches and output are ignored."""
    git = shutil.which("git")
    if git is None or not (ROOT / ".git").exists():
        pytest.skip("no git here")
    done = subprocess.run(
        [git, "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    top = {name.split("/")[0] for name in done.stdout.split("\0") if name}
    assert {name for name in top if not name.startswith(".")} <= TOP


@pytest.mark.parametrize(
    ("room", "name"), [(room, name) for room, names in PUBLIC.items() for name in names]
)
def test_public_names(room, name):
    """Asked for twice: a module of the same name must not take a function's place."""
    for _ in range(2):
        thing = getattr(importlib.import_module(room), name)
        assert callable(thing)
        assert thing.__doc__


def test_public_names_are_listed():
    for room, names in PUBLIC.items():
        assert set(names) <= set(importlib.import_module(room).__all__), room


ALL_TABLES = {
    name: value
    for name, value in vars(tables).items()
    if name.isupper() and not name.startswith("_") and isinstance(value, dict)
}


@pytest.mark.parametrize("name", sorted(ALL_TABLES))
def test_columns_are_declared_in_words(name):
    for column, declared in ALL_TABLES[name].items():
        assert re.fullmatch(r"[a-z][a-z0-9_]*", column)
        assert declared.meaning
        assert declared.dtype in {"str", "int64", "float64", "bool", "boolean"}


def test_an_undeclared_column_is_refused():
    from leaguesim.errors import LeaguesimError

    with pytest.raises(LeaguesimError, match="extra"):
        tables.frame(tables.SCORES, {**{k: [] for k in tables.SCORES}, "extra": []})


@in_checkout
def test_modules_stay_small():
    """No module over 500 lines."""
    long = {
        str(path.relative_to(ROOT)): count
        for path in (ROOT / "leaguesim").rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 500
    }
    assert long == {}


@in_checkout
def test_library_does_not_print():
    for path in (ROOT / "leaguesim").rglob("*.py"):
        assert not re.search(r"^\s*print\(", path.read_text(encoding="utf-8"), re.M), path


def test_the_family_of_errors_has_exit_codes():
    from leaguesim import errors

    family = [e for e in vars(errors).values() if isinstance(e, type)]
    codes = {e.__name__: e.exit_code for e in family}
    assert set(codes.values()) == {1, 2, 4}
    assert codes["InputError"] == codes["ProfileError"] == codes["OutputError"] == 2
    assert codes["PartFailedError"] == 4
