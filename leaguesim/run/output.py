"""Folders of results written whole or not at all.

Does not know what is in the files: it takes names and bytes.  Everything goes into a hidden folder
beside the target, which takes the target's name only when it is complete.
"""

import ctypes
import errno
import json
import os
import secrets
import shutil
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from leaguesim.errors import OutputError
from leaguesim.run.blocks import PREFIX

MARKER = "manifest.json"
REPORTS = Path("reports")


def default_folder(*words: str, base: Path = REPORTS) -> Path:
    """A folder under ./reports that does not exist yet: command-now-next, then -2, -3 and so on.

    Signs that some file systems refuse are replaced.
    """
    plain = "-".join(_file_word(w) for w in words)
    folder = base / plain
    count = 1
    while (folder.exists() or folder.is_symlink()) and not _only_blocks(folder):
        count += 1
        folder = base / f"{plain}-{count}"
    return folder


def _only_blocks(folder: Path) -> bool:
    """Whether a folder holds nothing but finished blocks of a run that was cut off."""
    try:
        names = [entry.name for entry in folder.iterdir()]
    except OSError:
        return False
    return bool(names) and all(name.startswith(PREFIX) for name in names)


def _file_word(word: str) -> str:
    kept = "".join(c if c.isalnum() or c in "._-" else "-" for c in word).strip(".-")
    return kept[:60] or "unnamed"


class OutputFolder:
    """A place for one set of results.

    Parameters
    ----------
    path : the folder to write; it must not exist, or be empty
    force : replace an earlier report there; files it did not write are never touched

    Raises
    ------
    OutputError : the place can't be used; checked at once, before hours are spent computing
    """

    def __init__(self, path: str | os.PathLike[str], *, force: bool = False) -> None:
        self.path = Path(path)
        self.force = force
        self._check()

    def _check(self) -> None:
        try:
            self._check_place()
            self._check_parent()
        except OutputError:  # also a ValueError, and told already
            raise
        except OSError as error:
            raise OutputError(f"{self.path}: cannot be written: {reason(error)}") from error
        except ValueError as error:  # a NUL byte in the name
            raise OutputError(f"{str(self.path)!r}: not a usable folder name: {error}") from error

    def _check_place(self) -> None:
        if self.path.is_symlink() and not self.path.exists():
            raise OutputError(f"{self.path}: a link that leads nowhere is in the way")
        if not self.path.exists():
            return
        if not self.path.is_dir():
            raise OutputError(
                f"{self.path}: a file is in the way; choose another folder with --out"
            )
        self._check_names(self.path)

    def _check_names(self, folder: Path) -> None:
        """Refuse a folder (ours, maybe moved aside) that holds what must not be replaced."""
        names = sorted(entry.name for entry in folder.iterdir())
        there = [name for name in names if not name.startswith(PREFIX)]  # blocks of an earlier try
        if not there:
            return
        if not self.force:
            raise OutputError(
                f"{self.path}: the folder is not empty; choose another with --out, "
                "or replace an earlier report with --force"
            )
        foreign = sorted(set(there) - self._earlier(folder))
        if foreign:
            raise OutputError(
                f"{self.path}: holds {foreign[0]!r}, which no report of ours wrote; move it away "
                "or choose another folder with --out"
            )

    @staticmethod
    def _earlier(folder: Path) -> set[str]:
        """Names that an earlier report wrote there, by its own manifest."""
        try:
            told = json.loads((folder / MARKER).read_text(encoding="utf-8"))
            if str(told["schema"]).startswith("leaguesim.manifest/"):
                return {MARKER, *(str(name) for name in told["files"])}
        except (OSError, ValueError, KeyError, TypeError):
            pass
        return set()

    def _check_parent(self) -> None:
        """Try the nearest folder that exists: a probe tells more than permission bits."""
        parent = self._target().parent
        while not parent.exists():
            parent = parent.parent
        if not parent.is_dir():
            raise OutputError(f"{parent}: a file is in the way of the output folder")
        probe = parent / f".leaguesim-{secrets.token_hex(6)}"
        probe.mkdir()
        probe.rmdir()

    def _target(self) -> Path:
        """The real place, links followed and made absolute."""
        return self.path.resolve()

    def write(self, files: Mapping[str, bytes | str]) -> Path:
        """Write all files, then let the folder appear under its name.

        Raises
        ------
        OutputError : disk full, no permission, ...; nothing half-written is left behind
        """
        self._check()
        target = self._target()
        made = list(_missing_parents(target))
        whole = target.parent / f".leaguesim-{secrets.token_hex(6)}"
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            whole.mkdir()
            for name, content in files.items():
                _write_file(whole / name, content)
            _put_in_place(whole, target, self._check_names)
        except BaseException as error:
            shutil.rmtree(whole, ignore_errors=True)
            _remove_empty(made)
            if isinstance(error, OSError):
                raise OutputError(
                    f"{self.path}: cannot be written: {reason(error)}; no part of the report was left"
                ) from error
            raise
        return self.path


def reason(error: OSError) -> str:
    """Why the system refused, in words."""
    if error.errno == errno.ENOSPC:
        return "the disk is full"
    return error.strerror or str(error)


def _write_file(path: Path, content: bytes | str) -> None:
    data = content.encode("utf-8") if isinstance(content, str) else content
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _put_in_place(whole: Path, target: Path, check: Callable[[Path], None]) -> None:
    """Give the complete folder its name; an earlier report steps aside and comes back on failure.

    ``check`` sees what stood there once it is aside, and raises if it must stay: another run may have
    written there since the last look.
    """
    if not target.exists() or not any(target.iterdir()):
        try:
            whole.rename(target)
            return
        except OSError as error:
            if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
                raise
    if exchange(whole, target):
        try:
            check(whole)
        except BaseException:
            exchange(whole, target)
            raise
        shutil.rmtree(whole, ignore_errors=True)
        return
    aside = whole.with_name(whole.name + "-earlier")
    target.rename(aside)
    try:
        check(aside)
        whole.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def exchange(one: Path, other: Path) -> bool:
    """Swap two folders' names in one step, so that no kill can come between; False where it can't be."""
    try:
        swap = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    here, swap_names = -100, 2  # AT_FDCWD, RENAME_EXCHANGE
    return bool(swap(here, os.fsencode(one), here, os.fsencode(other), swap_names) == 0)


def _missing_parents(target: Path) -> Iterable[Path]:
    """Folders above the target that do not exist yet, deepest first."""
    parent = target.parent
    while not parent.exists():
        yield parent
        parent = parent.parent


def _remove_empty(folders: Iterable[Path]) -> None:
    for folder in folders:
        try:
            folder.rmdir()
        except OSError:
            return
