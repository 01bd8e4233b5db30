"""Writing the starter center: complete, never over something, all or nothing."""

import os
import shutil
from pathlib import Path

import pytest

from leaguesim.center import demo_center, read, starter, starter_folder, write_starter
from leaguesim.errors import LibraryError, OutputError


def files(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }


def test_center_starter_is_copied_whole_and_reads(tmp_path: Path) -> None:
    target = write_starter(tmp_path / "deep" / "hall")
    assert files(target) == files(starter_folder() / "starter")
    center = read(target)
    assert len(center.roster) >= 16
    assert len(center.conditions) == 2
    teams = {line.team for line in center.roster}
    assert len(teams) >= 3  # two pairs of lanes at least
    assert [p.name for p in target.parent.iterdir()] == ["hall"]


def test_center_starter_shares_its_material_with_the_demo() -> None:
    demo, own = files(demo_center()), files(starter_folder() / "starter")
    shared = [name for name in own if name not in ("center.toml", "roster.csv")]
    assert len(shared) > 10
    for name in shared:
        assert own[name] == demo[name], name


def test_center_starter_files_are_commented() -> None:
    for name, text in files(starter_folder()).items():
        if name.endswith(".toml"):
            assert text.lstrip().startswith(b"#"), name
            assert b"nvented" in text or b"assumed" in text, name


def test_center_starter_says_when_it_stops_being_invented(tmp_path: Path) -> None:
    hall = write_starter(tmp_path / "hall") / "center.toml"
    assert read(hall.parent).invented
    text = hall.read_text(encoding="utf-8")
    (line,) = [line for line in text.splitlines() if line.startswith("invented =")]
    assert "# set to false once these are your own lanes and people" in line
    hall.write_text(text.replace("invented = true", "invented = false", 1), encoding="utf-8")
    assert not read(hall.parent).invented


def test_center_starter_takes_an_empty_folder(tmp_path: Path) -> None:
    (tmp_path / "hall").mkdir()
    assert len(read(write_starter(tmp_path / "hall")).roster) >= 16


def test_center_starter_refuses_what_is_there(tmp_path: Path) -> None:
    hall = tmp_path / "hall"
    hall.mkdir()
    (hall / "mine.txt").write_text("precious", encoding="utf-8")
    with pytest.raises(OutputError, match=r"hall: there is a folder with files in it already"):
        write_starter(hall)
    with pytest.raises(OutputError, match=r"mine.txt: there is a file already") as caught:
        write_starter(hall / "mine.txt")
    assert caught.value.exit_code == 2
    with pytest.raises(OutputError, match="cannot be written"):
        write_starter(hall / "mine.txt" / "below")
    with pytest.raises(OutputError):
        write_starter(tmp_path / "no\0pe")
    assert files(tmp_path) == {"hall/mine.txt": b"precious"}


@pytest.mark.parametrize("stop", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_center_starter_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: BaseException
) -> None:
    written = Path.write_bytes
    count = 0

    def failing(self: Path, data: bytes) -> int:
        nonlocal count
        count += 1
        if count > 5:
            raise stop
        return written(self, data)

    monkeypatch.setattr(Path, "write_bytes", failing)
    wanted = OutputError if isinstance(stop, OSError) else KeyboardInterrupt
    with pytest.raises(wanted) as caught:
        write_starter(tmp_path / "hall")
    assert not isinstance(stop, OSError) or "No space left" in str(caught.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
def test_center_starter_without_permission(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(OutputError, match="cannot be written"):
        write_starter(tmp_path / "hall")


def test_center_material_is_taken_from_the_package_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "leaguesim"
    package.mkdir()
    monkeypatch.setattr(starter, "_PACKAGE", package)
    with pytest.raises(LibraryError, match="starter material is missing"):
        starter_folder()
    shutil.copytree(_checkout(), tmp_path / "profiles")
    assert starter_folder() == tmp_path / "profiles"
    shutil.copytree(_checkout(), package / "_starter")
    assert starter_folder() == package / "_starter"


def _checkout() -> Path:
    return Path(__file__).resolve().parents[2] / "profiles"
