"""Places that fail: a folder that can't be written, a damaged carry library, a run without a network."""

import os

import pytest

PAIR = ("--now", "tuesday_40", "--next", "thursday_42")

READ_ONLY = """
import pathlib
real = pathlib.Path.mkdir
def refused(self, *a, **k):
    if "locked" in self.parts:
        raise PermissionError(13, "Permission denied", str(self))
    return real(self, *a, **k)
pathlib.Path.mkdir = refused
"""


def test_a_read_only_folder_is_told_before_the_work(center, tools, tmp_path):
    """Root may write anywhere, so for root the system's refusal is put in its mouth."""
    locked = tmp_path / "locked"
    locked.mkdir()
    locked.chmod(0o555)
    done = tools["call"](
        "compare", str(center), *PAIR, "--out", str(locked / "x"),
        before=READ_ONLY if os.geteuid() == 0 else "",
    )  # fmt: skip
    locked.chmod(0o755)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr == f"leaguesim: {locked / 'x'}: cannot be written: Permission denied\n"
    assert list(locked.iterdir()) == []


@pytest.mark.parametrize(
    "harm",
    ["cut", *(pytest.param(h, marks=pytest.mark.slow) for h in ("flipped", "empty", "gone"))],
)
def test_a_damaged_carry_library_is_one_line(center, tools, tmp_path, harm):
    from leaguesim.pins import carry

    data = bytearray(carry.SHIPPED.read_bytes())
    path = tmp_path / "carry.npz"
    if harm == "flipped":
        data[len(data) // 2] ^= 0xFF
    if harm != "gone":
        path.write_bytes({"cut": data[: len(data) // 2], "empty": b""}.get(harm, data))
    before = f"import pathlib, leaguesim.pins.carry as m\nm.SHIPPED = pathlib.Path({str(path)!r})"
    out = tmp_path / "x"
    done = tools["call"](
        "compare", str(center), *PAIR, "--nights", "2", "--seed", "1", "--out", str(out), "-q",
        before=before,
    )  # fmt: skip
    assert done.returncode == 1, done.stderr  # the installation's fault, not the input's
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert "carry" in done.stderr
    assert "our fault" not in done.stderr
    assert not out.exists()


NO_SOCKETS = """
import sys
def watch(event, given):
    if event.startswith("socket."):
        raise RuntimeError(f"a socket was asked for: {event} {given}")
sys.addaudithook(watch)
"""
NONE_OPEN = """
import os, pathlib
from leaguesim.cli import main as m
real = m.main
def looked(*a):
    code = real(*a)
    # What compiled libraries opened past the interpreter: a pair inside the process is no network.
    ours = {os.readlink(p) for p in pathlib.Path("/proc/self/fd").iterdir() if p.is_symlink()}
    for kind in ("tcp", "tcp6", "udp", "udp6", "raw", "packet"):
        table = pathlib.Path("/proc/self/net", kind)
        words = set(table.read_text().split()) if table.exists() else set()
        assert not [s for s in ours if s.startswith("socket:") and s[8:-1] in words], kind
    return code
m.main = looked
"""


def test_the_watch_sees_a_socket(tools, center):
    """The test below could not fail if it did not."""
    done = tools["call"]("check", str(center), before=NO_SOCKETS + "import socket; socket.socket()")
    assert done.returncode == 1
    assert "a socket was asked for" in done.stderr


@pytest.mark.slow
def test_a_comparison_with_page_and_charts_opens_no_socket(center, tools, tmp_path):
    done = tools["call"](
        "compare", str(center), *PAIR, "--nights", "2", "--seed", "1", "--charts",
        "--out", str(tmp_path / "x"), "-q", before=NO_SOCKETS + NONE_OPEN,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "x" / "page.html").stat().st_size > 10_000
    assert list((tmp_path / "x").glob("**/*.svg"))
