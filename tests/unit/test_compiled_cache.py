"""The cache of machine code: named by what it was made of, placed where it can be written."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from leaguesim import compiled
from leaguesim.compiled import cache_folder, cache_name, kernel, kernel_sources


@pytest.fixture(autouse=True)
def fresh():
    compiled.cache_name.cache_clear()
    compiled.cache_folder.cache_clear()
    yield
    compiled.cache_name.cache_clear()
    compiled.cache_folder.cache_clear()


def test_every_kernel_file_is_among_the_sources():
    names = {str(p.parent.name + "/" + p.name) for p in kernel_sources()}
    assert {
        "lane/_kernel.py", "pins/_kernel.py", "pins/_kernel_planar.py", "scoring/_kernel.py",
        "ball/_kernel.py", "bowlers/_kernel.py", "play/_kernel.py",
    } <= names  # fmt: skip


@pytest.mark.parametrize("source", kernel_sources(), ids=lambda p: f"{p.parent.name}/{p.name}")
def test_editing_any_kernel_starts_another_cache(source, monkeypatch):
    """Every file's bytes are in the name (read through a changed copy; no source is touched)."""
    before = cache_name()
    compiled.cache_name.cache_clear()
    read = Path.read_bytes
    monkeypatch.setattr(
        Path, "read_bytes", lambda p: read(p) + (b"# edited\n" if p == source else b"")
    )
    assert cache_name() != before


def test_the_name_is_stable_and_says_what_it_is():
    name = cache_name()
    compiled.cache_name.cache_clear()
    assert cache_name() == name
    assert name.startswith("kernels-")
    assert len(name) == len("kernels-") + 20


def test_numba_and_processor_are_part_of_the_name(monkeypatch):
    names = {cache_name()}
    for what, value in (("version", lambda _: "0.0"), ("_processor", lambda: "another")):
        compiled.cache_name.cache_clear()
        with monkeypatch.context() as m:
            m.setattr(compiled, what, value)
            names.add(cache_name())
    assert len(names) == 3


def test_the_folder_is_named_by_the_cache_name(tmp_path, monkeypatch):
    monkeypatch.setenv("LEAGUESIM_CACHE", str(tmp_path / "here"))
    assert cache_folder() == tmp_path / "here" / cache_name()
    assert cache_folder().is_dir()
    assert list(cache_folder().iterdir()) == []


def test_an_unwritable_home_falls_back_to_the_temporary_folder(tmp_path, monkeypatch):
    """A file where the folder should be: as unusable as a read-only home, and for root too."""
    blocked = tmp_path / "home"
    blocked.write_text("not a folder")
    spare = tmp_path / "temporary"
    spare.mkdir()
    monkeypatch.delenv("LEAGUESIM_CACHE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(spare))
    assert cache_folder().is_relative_to(spare)
    compiled.cache_folder.cache_clear()
    monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(blocked))
    assert cache_folder() is None


def test_without_any_folder_kernels_still_compile(monkeypatch):
    monkeypatch.setattr(compiled, "cache_folder", lambda: None)

    @kernel
    def twice(x: int) -> int:
        return 2 * x

    assert twice(21) == 42
    assert twice.py_func(21) == 42


def test_kernels_release_the_lock_and_are_never_fast_and_loose():
    from leaguesim.play._kernel import play_nights

    options = play_nights.targetoptions
    assert options["nogil"]
    assert not options.get("fastmath", False)
    assert not options.get("parallel", False)


CALLER = """
import sys
from leaguesim import compiled
from pathlib import Path
here = Path(__file__).parent
compiled.kernel_sources = lambda: sorted(here.glob("_kernel*.py"))
sys.path.insert(0, str(here))
from _kernel_top import top
print(top(1))
"""
TOP_SOURCE = """
from _kernel_low import low
from leaguesim.compiled import kernel
@kernel
def top(x: int) -> int:
    return low(x) + 1
"""
LOW_SOURCE = """
from leaguesim.compiled import kernel
@kernel
def low(x: int) -> int:
    return {factor} * x
"""


@pytest.mark.slow
def test_an_edited_callee_changes_a_cached_callers_result(tmp_path):
    """What numba's own cache gets wrong: the caller's file is unchanged, its callee's is not."""
    (tmp_path / "main.py").write_text(CALLER)
    (tmp_path / "_kernel_top.py").write_text(TOP_SOURCE)
    said = []
    for factor in (10, 10, 20):
        (tmp_path / "_kernel_low.py").write_text(LOW_SOURCE.format(factor=factor))
        env = os.environ | {"LEAGUESIM_CACHE": str(tmp_path / "cache")}
        done = subprocess.run(
            [sys.executable, str(tmp_path / "main.py")], env=env, capture_output=True, text=True,
            check=True,
        )  # fmt: skip
        said.append(int(done.stdout))
    assert said == [11, 11, 21]
    assert len(list((tmp_path / "cache").iterdir())) == 2


def test_a_full_disk_only_costs_the_keeping(monkeypatch):
    """Machine code that can't be saved is used all the same."""
    import errno

    from numba.core import caching

    from leaguesim.compiled import kernel

    def full(*_given):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(caching.IndexDataCacheFile, "save", full)

    @kernel
    def one_more(x):
        return x + 1

    assert one_more(41) == 42
