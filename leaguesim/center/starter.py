"""The material that ships with the package: the demo center, and the starter center to copy.

Does not read or check it; ``door.read`` does that for these folders as for any other.
"""

import os
import tempfile
from os import PathLike
from pathlib import Path

from leaguesim.errors import LibraryError, OutputError

_PACKAGE = Path(__file__).resolve().parent.parent
COPIED = (".toml", ".csv", ".md")


def starter_folder() -> Path:
    """The shipped profiles: inside an installed package, else beside it in a checkout."""
    for folder in (_PACKAGE / "_starter", _PACKAGE.parent / "profiles"):
        if (folder / "demo" / "center.toml").is_file():
            return folder
    raise LibraryError("the starter material is missing from this installation: install it again")


def demo_center() -> Path:
    """Folder of the invented demo center, Long Hall."""
    return starter_folder() / "demo"


def write_starter(path: str | PathLike[str]) -> Path:
    """Write a complete starter center; all of it or nothing.

    Returns
    -------
    the folder written

    Raises
    ------
    OutputError : the place holds something already, or can't be written
    """
    target = Path(path)
    try:
        if target.is_dir() and not any(target.iterdir()):
            pass
        elif target.exists() or target.is_symlink():
            what = "there is a folder with files in it" if target.is_dir() else "there is a file"
            raise OutputError(f"{target}: {what} already; give the new center another name")
        target.parent.mkdir(parents=True, exist_ok=True)
        _copy_whole(starter_folder() / "starter", target)
    except (OSError, ValueError) as fault:
        if isinstance(fault, OutputError):
            raise
        reason = fault.strerror if isinstance(fault, OSError) and fault.strerror else fault
        raise OutputError(f"{target}: cannot be written: {reason}") from fault
    return target


def _copy_whole(source: Path, target: Path) -> None:
    """Copy beside the target first, then rename; an interruption leaves no trace."""
    parent = target.absolute().parent
    with tempfile.TemporaryDirectory(prefix=".leaguesim-", dir=parent) as temporary:
        whole = Path(temporary) / "center"
        whole.mkdir()
        for file in sorted(p for p in source.rglob("*") if p.suffix in COPIED and p.is_file()):
            copy = whole / file.relative_to(source)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(file.read_bytes())
        if os.name == "nt" and target.is_dir():
            target.rmdir()  # Windows does not rename onto an empty folder
        whole.rename(target)
