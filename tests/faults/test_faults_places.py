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


WATCHED = """
import os, sys
allowed = {allowed!r}
folders = {{
    "os.mkdir": 2, "os.rename": 2, "os.remove": 1, "os.rmdir": 1, "os.symlink": 2, "os.link": 2,
    "os.truncate": 9,
}}  # where the number of an open folder stands that a path goes out from
def watch(event, given):
    if event == "open":
        path, _, flags = given
        if not flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND):
            return
        paths, base = [path], -1
    elif event in folders:
        at = folders[event]
        paths = given[:2] if event in ("os.rename", "os.link") else given[:1]
        base = given[at] if at < len(given) else -1
    else:
        return
    for path in paths:
        if isinstance(path, int):
            continue
        there = os.readlink(f"/proc/self/fd/{{base}}") if base >= 0 else os.getcwd()
        place = os.path.abspath(os.path.join(there, os.fsdecode(path)))
        if not place.startswith(tuple(allowed)):
            raise RuntimeError(f"written outside: {{event}} {{place}}")
sys.addaudithook(watch)
"""
HOSTILE = {
    "=cmd|' /C calc'!A0": "-2+3",
    "<script>alert(1)</script>": "</td><img src=x onerror=alert(2)>",
    "../../../etc/passwd": "..",
    'O\'Brien "Bo"; DROP': "Zoë 🎳",
}
CONDITIONS = {"tuesday_40": "a & b <i>here", "thursday_42": "=1+1 <i>there"}


@pytest.fixture(scope="module")
def hostile(center, tmp_path_factory):
    """The small center with names that mean something to spreadsheets, browsers and file systems."""
    import csv
    import shutil

    folder = tmp_path_factory.mktemp("hostile") / "hall"
    shutil.copytree(center, folder)
    with (folder / "roster.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    for row, (bowler, team) in zip(rows, HOSTILE.items(), strict=True):
        row[:2] = bowler, team
    with (folder / "roster.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([head, *rows])
    for name, other in CONDITIONS.items():
        (folder / f"conditions/{name}.toml").rename(folder / f"conditions/{other}.toml")
    center_toml = folder / "center.toml"
    text = center_toml.read_text(encoding="utf-8").replace("tuesday_40", CONDITIONS["tuesday_40"])
    center_toml.write_text(text, encoding="utf-8")
    return folder


def watched(tools, folder, *words):
    """A command whose every write outside ``folder`` and the cache of kernels is refused."""
    from leaguesim.compiled import cache_folder

    for name in ("home", "here", "out", "scratch"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    cache = cache_folder()
    assert cache is not None
    allowed = [str(folder / "out"), str(folder / "scratch"), str(cache.parent), "/dev/"]
    env = {**os.environ, "HOME": str(folder / "home"), "LEAGUESIM_CACHE": str(cache.parent)}
    env["TMPDIR"] = str(folder / "scratch")
    done = tools["call"](
        *words, before=WATCHED.format(allowed=allowed), env=env, cwd=folder / "here"
    )
    # ... and what compiled libraries might write past the interpreter
    assert list((folder / "home").iterdir()) == []
    assert list((folder / "here").iterdir()) == []
    assert list((folder / "scratch").iterdir()) == []
    return done


def test_the_watch_sees_a_file_written_outside(tools, tmp_path):
    done = watched(tools, tmp_path, "new", str(tmp_path / "elsewhere"))
    assert done.returncode == 1
    assert "written outside: os.mkdir" in done.stderr
    assert not (tmp_path / "elsewhere").exists()


def test_new_and_check_write_nothing_outside(tools, tmp_path):
    done = watched(tools, tmp_path, "new", str(tmp_path / "out" / "hall"))
    assert done.returncode == 0, done.stderr
    done = watched(tools, tmp_path, "check", str(tmp_path / "out" / "hall"))
    assert done.returncode == 0, done.stderr


@pytest.mark.slow
def test_hostile_names_stay_words_and_nothing_is_written_outside(hostile, tools, tmp_path):
    import csv

    out = tmp_path / "out" / "x"
    done = watched(
        tools, tmp_path, "compare", str(hostile), "--now", CONDITIONS["tuesday_40"],
        "--next", CONDITIONS["thursday_42"], "--nights", "2", "--seed", "1", "--out", str(out), "--charts", "-q",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["x"]
    page = (out / "page.html").read_text(encoding="utf-8")
    for text in ("<script>alert(1)", "<img src=x", "</td><img", "<i>there"):
        assert text not in page, text
    tables = sorted(out.glob("**/*.csv"))
    assert tables
    seen = set()
    for path in tables:
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.reader(file):
                seen |= set(row)
                for cell in row:
                    number = cell.lstrip("-").replace(".", "", 1).replace("e-", "", 1).isdigit()
                    assert number or cell[:1] not in tuple("=+-@\t\r"), (path.name, cell)
    assert {"<script>alert(1)</script>", "Zoë 🎳", 'O\'Brien "Bo"; DROP'} <= seen
