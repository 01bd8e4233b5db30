"""The one decorator of every kernel, and the cache folder its machine code goes to.

Numba's own cache keeps a caller's old result when a kernel it calls in another file is edited; so the
folder is named by a hash of all kernel sources, numba's version and the processor, and an edit anywhere
starts a new one.  It is the only place written outside the output folder.
"""

import io
import os
import platform
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from hashlib import blake2b
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[..., Any])
DIGEST = 16  # bytes at the end of every kept file; what reads them stops before


def kernel_sources() -> list[Path]:
    """Every ``_kernel*.py`` of the package, sorted."""
    return sorted(Path(__file__).parent.rglob("_kernel*.py"))


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        kept = [x for x in lines if x.startswith(("model name", "flags", "Features"))]
        return "".join(sorted(set(kept)))
    except OSError:
        return platform.processor() + platform.machine()


@lru_cache(maxsize=1)
def cache_name() -> str:
    """Name of the cache folder: a hash of kernel sources, numba, Python and the processor."""
    h = blake2b(digest_size=10)
    for path in kernel_sources():
        h.update(path.name.encode() + path.read_bytes())
    h.update(Path(__file__).read_bytes())
    h.update(f"{version('numba')} {platform.python_version()} {_processor()}".encode())
    return f"kernels-{h.hexdigest()}"


def _usable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / f".probe-{os.getpid()}"
        probe.write_bytes(b"")
        probe.unlink()
    except OSError:
        return False
    return True


@lru_cache(maxsize=1)
def cache_folder() -> Path | None:
    """Where compiled kernels are kept, or None where nothing can be written.

    ``LEAGUESIM_CACHE`` names another parent; else the user's cache folder, else the system's
    temporary one (a read-only home).
    """
    home = os.environ.get("XDG_CACHE_HOME") or str(Path("~/.cache").expanduser())
    named = os.environ.get("LEAGUESIM_CACHE")
    user = os.getuid() if hasattr(os, "getuid") else "user"
    parents = [Path(named)] if named else [Path(home) / "leaguesim"]
    parents.append(Path(tempfile.gettempdir()) / f"leaguesim-{user}")
    for parent in parents:
        if _usable(parent / cache_name()):
            return parent / cache_name()
    return None


def kernel(function: F) -> F:
    """Compile a kernel: single-threaded, without the interpreter's lock, cached, never fastmath.

    ``kernel(f).py_func`` is the plain-Python twin.
    """
    return _compile(function, inline="never")


def lean_kernel(function: F) -> F:
    """The same for a kernel that makes no array: views and arguments are then not counted at all."""
    return _compile(function, inline="never", counted=False)


def small_kernel(function: F) -> F:
    """The same for a few lines that every caller should have inlined."""
    return _compile(function, inline="always")


def _compile(function: F, *, inline: str, counted: bool = True) -> F:
    import numba
    from numba.core import config

    folder = cache_folder()
    settings: Any = config
    njit: Any = numba.njit
    before = settings.CACHE_DIR
    settings.CACHE_DIR = str(folder or "")
    try:
        made: F = njit(
            cache=folder is not None, nogil=True, error_model="numpy", inline=inline, _nrt=counted
        )(function)
    finally:
        settings.CACHE_DIR = before
    if folder is not None:
        _trust_no_file(made)
    return made


class _DamagedError(Exception):
    """A kept kernel, or the index of kept kernels, is not what was written."""


def _trust_no_file(made: Any) -> None:
    """Give every kept file a digest; what does not match it is compiled again, never run.

    Also, a kernel that can't be kept (a full disk) is compiled again next time; it is no reason to stop.
    """
    cache = made._cache
    files = cache._cache_file
    load, save, begin = cache.load_overload, cache.save_overload, files._open_for_write
    read_index, read_data = files._load_index, files._load_data

    @contextmanager
    def with_digest(path: str) -> Iterator[io.BytesIO]:
        with begin(path) as file:
            held = io.BytesIO()
            yield held
            file.write(held.getvalue() + _digest(held.getvalue()))

    def checked_index() -> Any:
        _check(Path(files._index_path))
        return read_index()

    def checked_data(name: str) -> Any:
        _check(Path(files._data_path(name)))
        return read_data(name)

    def try_to_load(*given: Any) -> Any:
        try:
            return load(*given)
        except _DamagedError:
            with suppress(OSError):
                Path(files._index_path).unlink()
            return None

    def try_to_save(*given: Any) -> None:
        with suppress(OSError, _DamagedError):
            save(*given)

    files._open_for_write, files._load_index = with_digest, checked_index
    files._load_data = checked_data
    cache.load_overload, cache.save_overload = try_to_load, try_to_save


def _digest(body: bytes) -> bytes:
    return blake2b(body, digest_size=DIGEST).digest()


def _check(path: Path) -> None:
    with suppress(FileNotFoundError):
        whole = path.read_bytes()
        if _digest(whole[:-DIGEST]) != whole[-DIGEST:]:
            raise _DamagedError(path.name)
