"""Every bad input of ``bad_inputs.toml`` is told to the letter, on its line, and nothing else is."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from leaguesim.center import read
from leaguesim.errors import InputError, ProfileError

TABLE = tomllib.loads((Path(__file__).parent / "bad_inputs.toml").read_text(encoding="utf-8"))
CASES: dict[tuple[str, str], list[list[str]]] = {
    (kind, file): held["cases"] for kind, files in TABLE.items() for file, held in files.items()
}
ALONE = ("goals/", "tournaments/", "sequences/", "scores.csv")  # each has a door of its own
BESIDE = "conditions/tape.toml"  # a fault in it hides the file that it names


def whole(text: str) -> str:
    return re.sub(r"<(.) x (\d+)>", lambda m: m[1] * int(m[2]), text)


def harmed(good: str, old: str, new: str) -> str:
    if old == "*":
        return whole(new)
    assert old in good, f"{old!r} is not in the good file"
    return whole(new) + good if old == "" else good.replace(old, whole(new), 1)


def plain(text: str, folder: Path, file: str) -> str:
    """A fault from its line number on."""
    inside = text.removeprefix(folder.as_posix() + "/")
    return inside.removeprefix(file) if inside.startswith(file) else "~" + inside


def fits(found: list[str], wanted: list[str]) -> bool:
    patterns = [re.escape(whole(w)).replace("…", ".+") for w in wanted]
    return len(found) == len(wanted) and all(
        re.fullmatch(p, f) for p, f in zip(patterns, found, strict=True)
    )


@pytest.fixture(scope="module")
def told(tiny: Any, tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str, int], Any]:
    """What each case is told.  The n-th case of every file of a center goes into one reading."""
    door = tiny.Door(tmp_path_factory.mktemp("bad") / "hall")
    found: dict[tuple[str, str, int], list[str]] = {}
    by_file: dict[str, list[tuple[str, int, list[str]]]] = {}
    for (kind, file), cases in CASES.items():
        by_file.setdefault(file, []).extend((kind, i, case) for i, case in enumerate(cases))
    for file in [f for f in by_file if f.startswith(ALONE)]:
        for kind, i, (old, new, *_) in by_file.pop(file):
            texts, _ = door.told(file, harmed(tiny.FILES[file], old, new))
            found[kind, file, i] = [plain(t, door.folder, file) for t in texts]
    queues = [{BESIDE: by_file.pop(BESIDE)}, by_file]
    for queue in queues:
        while any(queue.values()):
            now = {file: left.pop() for file, left in queue.items() if left}
            for file, (_, _, (old, new, *_)) in now.items():
                text = harmed(tiny.FILES[file], old, new)
                (door.folder / file).write_bytes(text.encode())
            with pytest.raises(ProfileError) as caught:
                read(door.folder)
            texts = [t.removeprefix(door.folder.as_posix() + "/") for t in caught.value.faults]
            for file, (kind, i, _) in now.items():
                found[kind, file, i] = [
                    t.removeprefix(file) for t in texts if t.startswith(file + ":")
                ]
                (door.folder / file).write_text(tiny.FILES[file], encoding="utf-8")
            assert len(texts) == sum(len(found[k, f, i]) for f, (k, i, _) in now.items()), texts
    return found


@pytest.mark.parametrize(("kind", "file"), CASES, ids=lambda word: word)
def test_bad_inputs_are_told_to_the_letter(told: Any, kind: str, file: str) -> None:
    wrong = [
        (old, new, wanted, told[kind, file, i])
        for i, (old, new, *wanted) in enumerate(CASES[kind, file])
        if not fits(told[kind, file, i], wanted)
    ]
    assert wrong == []


def test_there_are_bad_inputs_enough() -> None:
    cases = [(f, old, new) for (_, f), of in CASES.items() for old, new, *_ in of]
    assert len(cases) >= 300
    assert len(set(cases)) == len(cases)
    assert all(wanted for of in CASES.values() for _, _, *wanted in of)


def test_the_fitting_tells_faults_apart() -> None:
    assert fits([":1: a: allowed are b, c, you wrote d"], [":1: a: allowed are …, you wrote d"])
    assert not fits([":1: a: allowed are b, you wrote e"], [":1: a: allowed are …, you wrote d"])
    assert not fits([], [":1: a"])
    assert not fits([":1: a", ":2: b"], [":1: a"])


WHOLE_FILES = [
    ("center.toml", b"\xff\xfen\x00a\x00", ":1: not UTF-8 text (byte 0xff): save it as UTF-8"),
    (
        "roster.csv",
        b"bowler,team,hand,style\nZo\xeb,A,left,stroker\n",
        ":2: not UTF-8 text (byte 0xeb): save it as UTF-8 (in the spreadsheet: Save as, CSV UTF-8)",
    ),
    ("scores.csv", b"date,bowler\n\x80", ":2: not UTF-8 text (byte 0x80)"),
    ("goals/wish.toml", b"title = '\xe9'", ":1: not UTF-8 text (byte 0xe9): save it as UTF-8"),
    ("roster.csv", b"#" * 5_000_001, ": too long: allowed are 5 MB"),
    ("conditions/house.toml", b"#" * 5_000_001, ": too long: allowed are 5 MB"),
]


@pytest.mark.parametrize(("file", "content", "wanted"), WHOLE_FILES, ids=range(len(WHOLE_FILES)))
def test_files_that_are_no_text_are_one_fault(
    tiny: Any, tmp_path: Path, file: str, content: bytes, wanted: str
) -> None:
    door = tiny.Door(tmp_path / "hall")
    (fault,) = door.told(file, content)[0]
    assert plain(fault, door.folder, file).startswith(wanted)


@pytest.mark.parametrize(
    ("file", "wanted"),
    [
        ("center.toml", ": a folder where a file is needed"),
        ("roster.csv", ": a folder where a file is needed"),
        ("balls/medium.toml", ": a folder where a file is needed"),
    ],
)
def test_a_folder_in_the_place_of_a_file_is_one_fault(
    tiny: Any, tmp_path: Path, file: str, wanted: str
) -> None:
    folder = tiny.write(tmp_path / "hall")
    (folder / file).unlink()
    (folder / file).mkdir()
    with pytest.raises(ProfileError) as caught:
        read(folder)
    assert [plain(t, folder, file) for t in caught.value.faults] == [wanted]


def test_links_that_lead_nowhere_or_in_a_circle_are_told(tiny: Any, tmp_path: Path) -> None:
    folder = tiny.write(tmp_path / "hall")
    (folder / "balls/medium.toml").unlink()
    (folder / "balls/medium.toml").symlink_to("medium.toml")
    (folder / "roster.csv").unlink()
    (folder / "roster.csv").symlink_to(tmp_path / "gone.csv")
    with pytest.raises(ProfileError) as caught:
        read(folder)
    told = [t.removeprefix(folder.as_posix() + "/") for t in caught.value.faults]
    assert len(told) == 2
    assert told[0].startswith("balls/medium.toml: ")
    assert told[1] == "roster.csv: missing file"


@pytest.mark.parametrize("name", ["../center", "a/b", "", "x" * 300, "a\0b", "wish.toml", "CON"])
def test_names_given_on_the_command_line_stay_in_their_folder(
    tiny: Any, tmp_path: Path, name: str
) -> None:
    """A goal, tournament or sequence is looked for among the files of its folder, nowhere else."""
    from leaguesim.center.aimfiles import find_goal, find_tournament
    from leaguesim.center.sequence import find_sequence

    center = tiny.Door(tmp_path / "hall").center
    for find in (find_goal, find_tournament, find_sequence):
        with pytest.raises(InputError) as caught:
            find(center, name)
        assert len(str(caught.value).splitlines()) == 1
        assert "not found" in str(caught.value)
