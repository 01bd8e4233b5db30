"""Runs ended from outside: earlier results stay whole, finished blocks are kept, the bytes are the same.

The process ends itself at a chosen place, so that the moment is the same on every machine.
"""

import json
import re
import signal

import pytest

pytestmark = pytest.mark.slow

PAIR = ("--now", "tuesday_40", "--next", "thursday_42")
STAGES = {
    "lining up": """
import leaguesim.study.paired as m
m.Plan = lambda *_, **__: die()
""",
    "playing": """
import leaguesim.run.blocks as m
put = m.Store.put
done = []
def counted(self, task, what):
    put(self, task, what)
    done.append(task)
    if len(done) == 2:
        die()
m.Store.put = counted
""",
    "drawing": """
import leaguesim.report as m
m.compare_page = lambda *_: die()
""",
    "writing": """
import leaguesim.run.output as m
write = m._write_file
done = []
def counted(path, content):
    write(path, content)
    done.append(path)
    if len(done) == 3:
        die()
m._write_file = counted
""",
    "after the name is given": """
import leaguesim.run.output as m
swap = m.exchange
def swapped(one, other):
    assert swap(one, other)
    die()
m.exchange = swapped
""",
}
DIE = """
import os, time
def die():
    os.kill(os.getpid(), {number})
    time.sleep(60)
"""
MADE_OF = re.compile(r"\.leaguesim-blocks-\w+/block-[\w-]+\.npz")
TIMES = {"manifest.json", "summary.json", "page.html"}  # they hold the manifest: times, words


def words(center, out, nights="96", *more):
    return (
        "compare", str(center), *PAIR, "--nights", nights, "--seed", "1", "--out", str(out), "-q",
        *more,
    )  # fmt: skip


def without_times(report):
    told = json.loads((report / "summary.json").read_text())
    told.pop("manifest")
    return told


def same_report(hashes, one, other) -> None:
    a, b = hashes(one), hashes(other)
    assert set(a) == set(b)
    assert {k: v for k, v in a.items() if k not in TIMES} == {
        k: v for k, v in b.items() if k not in TIMES
    }
    assert without_times(one) == without_times(other)
    marks = [json.loads((f / "manifest.json").read_text())["result_sha256"] for f in (one, other)]
    assert marks[0] == marks[1]


@pytest.mark.parametrize(
    ("number", "stage"),
    [
        (signal.SIGKILL, "lining up"),
        (signal.SIGKILL, "playing"),
        (signal.SIGKILL, "drawing"),
        (signal.SIGKILL, "writing"),
        (signal.SIGINT, "lining up"),
        (signal.SIGINT, "playing"),
        (signal.SIGINT, "drawing"),
        (signal.SIGINT, "writing"),
        (signal.SIGTERM, "lining up"),
        (signal.SIGTERM, "playing"),
        (signal.SIGTERM, "drawing"),
        (signal.SIGTERM, "writing"),
    ],
    ids=lambda v: getattr(v, "name", v),
)
def test_an_earlier_report_stays_and_the_run_goes_on(
    center, unbroken, earlier, tools, tmp_path, number, stage
):
    call, hashes = tools["call"], tools["hashes"]
    out = tmp_path / "x"
    earlier(out)
    before = hashes(out)
    ended = call(
        *words(center, out, "96", "--force"), before=DIE.format(number=int(number)) + STAGES[stage]
    )
    assert ended.returncode == (-number if number == signal.SIGKILL else 130), ended.stderr
    assert ended.stdout == ""
    after = hashes(out)
    assert {k: after.get(k) for k in before} == before
    blocks = set(after) - set(before)
    assert all(MADE_OF.fullmatch(name) for name in blocks), blocks
    assert len(blocks) == {"lining up": 0, "playing": 2}.get(stage, 6)
    if number != signal.SIGKILL:
        assert [p.name for p in tmp_path.iterdir()] == ["x"]
        kept = (
            f"{len(blocks)} finished blocks are kept in {out}; the same command with --seed 1 goes on "
            "from there"
        )
        assert (
            ended.stderr == f"leaguesim: interrupted; {kept if blocks else 'nothing was written'}\n"
        )
    again = call(*words(center, out, "96", "--force"))
    assert again.returncode == 0, again.stderr
    same_report(hashes, out, unbroken)


@pytest.fixture(scope="module")
def earlier(center, tools, tmp_path_factory):
    """Puts an earlier report of another run where it is asked to."""
    import shutil

    made = tmp_path_factory.mktemp("earlier") / "x"
    done = tools["call"](*words(center, made, "2"))
    assert done.returncode == 0, done.stderr
    return lambda out: shutil.copytree(made, out)


BACKWARDS = """
import datetime, time
import leaguesim.cli.commands_study as one, leaguesim.run.manifest as other
class Clock(datetime.datetime):
    left = datetime.datetime(2031, 3, 30, 2, 30)
    @classmethod
    def now(cls, tz=None):
        cls.left -= datetime.timedelta(hours=1)
        return cls.left.replace(tzinfo=tz)
one.datetime = other.datetime = Clock
year = [2.0e9]
def seconds():
    year[0] -= 3600.0
    return year[0]
time.time = seconds
"""


def test_a_clock_that_runs_backwards_changes_no_byte(center, unbroken, tools, tmp_path):
    """Killed while it played, blocks dated 2099 and 1971, and an hour back at every look at the clock."""
    import os

    call, out = tools["call"], tmp_path / "x"
    killed = call(*words(center, out), before=DIE.format(number=9) + STAGES["playing"])
    assert killed.returncode == -signal.SIGKILL
    blocks = sorted(out.glob(".leaguesim-blocks-*/block-*.npz"))
    assert len(blocks) == 2
    for path, moment in zip(blocks, (4_070_908_800, 31_536_000), strict=True):
        os.utime(path, (moment, moment))
    done = call(*words(center, out), before=BACKWARDS)
    assert done.returncode == 0, done.stderr
    same_report(tools["hashes"], out, unbroken)
    told = json.loads((out / "manifest.json").read_text())
    assert told["ended"] < told["started"] < "2031-03-30T02:30"  # the clock was the one above


def test_killed_just_after_the_name_was_given_the_report_is_whole(
    center, unbroken, earlier, tools, tmp_path
):
    out = tmp_path / "x"
    earlier(out)
    ended = tools["call"](
        *words(center, out, "96", "--force"),
        before=DIE.format(number=9) + STAGES["after the name is given"],
    )
    assert ended.returncode == -signal.SIGKILL
    same_report(tools["hashes"], out, unbroken)


def test_a_part_cut_off_goes_on_and_joins_to_the_bytes_of_one_run(
    center, unbroken, tools, tmp_path
):
    """Three parts, the second killed in the middle and played again; joined in another order."""
    call = tools["call"]
    base = ("compare", str(center), *PAIR, "--nights", "96", "--seed", "1", "-q")
    for i in (1, 2, 3):
        part = (*base, "--shard", f"{i}/3", "--out", str(tmp_path / f"p{i}"))
        if i == 2:
            kill = DIE.format(number=9) + STAGES["playing"].replace("== 2", "== 1")
            assert call(*part, before=kill).returncode == -signal.SIGKILL
            assert not (tmp_path / "p2").exists()
            assert len(list(tmp_path.glob("p2.blocks/*/block-*.npz"))) == 1
        done = call(*part)
        assert done.returncode == 0, done.stderr
        assert done.stdout == f"{tmp_path / f'p{i}'}\n"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["p1", "p2", "p3"]
    parts = [str(tmp_path / f"p{i}") for i in (3, 1, 2)]
    short = call("merge", *parts[:2], "--out", str(tmp_path / "short"))
    assert short.returncode == 2
    assert short.stderr == "leaguesim: merge: part 2 of 3 is missing\n"
    done = call("merge", *parts, "--out", str(tmp_path / "whole"), "-q")
    assert done.returncode == 0, done.stderr
    same_report(tools["hashes"], tmp_path / "whole", unbroken)


def test_two_runs_into_one_folder_leave_one_whole_report(center, unbroken, tools, tmp_path):
    """Whoever is first has it; the other says so, and what it has played is kept."""
    out = tmp_path / "x"
    both = [tools["start"](*words(center, out)) for _ in range(2)]
    ends = [p.communicate(timeout=250) for p in both]
    codes = sorted(p.returncode for p in both)
    assert codes == [0, 2], ends
    _, told = next(e for p, e in zip(both, ends, strict=True) if p.returncode == 2)
    assert told.startswith(f"leaguesim: {out}: the folder is not empty; choose another with --out")
    assert len(told.splitlines()) == 1
    for path in out.glob(".leaguesim-blocks-*/*"):
        path.unlink()
    for folder in out.glob(".leaguesim-blocks-*"):
        folder.rmdir()
    same_report(tools["hashes"], out, unbroken)
    assert [p.name for p in tmp_path.iterdir()] == ["x"]


def test_rerun_says_the_same_and_comes_to_an_end(center, unbroken, tools):
    done = tools["call"]("rerun", str(unbroken / "manifest.json"), "-q")
    assert (done.returncode, done.stdout, done.stderr) == (
        0, "Same result: every byte of the summary.\n", "",
    )  # fmt: skip


def test_rerun_names_what_has_changed(center, unbroken, tools, tmp_path):
    import shutil

    shutil.copytree(center, tmp_path / "other")
    toml = tmp_path / "other" / "conditions" / "thursday_42.toml"
    text = toml.read_text(encoding="utf-8")
    more = re.sub(r"(?m)^volume_ml = .*$", "volume_ml = 5.0", text, count=1)
    assert more != text
    toml.write_text(more, encoding="utf-8")
    done = tools["call"](
        "rerun", str(unbroken / "manifest.json"), "--center", str(tmp_path / "other"), "--json",
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    told = json.loads(done.stdout)
    assert told["same_result"] is False
    assert told["changed_files"] == ["conditions/thursday_42.toml: has changed"]
    assert told["other_platform"] == []
    assert told["largest_difference"] > 0
