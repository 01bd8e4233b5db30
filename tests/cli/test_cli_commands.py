"""The command line in a process of its own: streams, exit codes, files, failures."""

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

START = "from leaguesim.cli.main import run; run()"


def call(*words: str, cwd: Path | None = None, **more) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", START, *words],
        capture_output=True, text=True, cwd=cwd, timeout=240, **more,
    )  # fmt: skip


@pytest.fixture(scope="module")
def center(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("cli") / "my-center"
    made = call("new", str(folder))
    assert made.returncode == 0
    assert made.stdout.strip() == str(folder)
    return folder


@pytest.fixture(scope="module")
def pair(center) -> list[str]:
    names = sorted(p.stem for p in (center / "conditions").glob("*.toml"))
    return ["--now", names[0], "--next", names[1]]


@pytest.fixture
def inside(capsys):
    """A command in this process: as ``call``, without the start of another interpreter."""
    from leaguesim.cli.main import main

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        code = main(list(words))
        out, err = capsys.readouterr()
        return subprocess.CompletedProcess(words, code, out, err)

    return run


@pytest.fixture(scope="module")
def few(center, tmp_path_factory) -> Path:
    """The same center with its first eight bowlers."""
    folder = tmp_path_factory.mktemp("few") / "few"
    shutil.copytree(center, folder)
    rows = (folder / "roster.csv").read_text().splitlines()
    (folder / "roster.csv").write_text("\n".join(rows[:9]) + "\n")
    return folder


def one_line(done: subprocess.CompletedProcess[str], code: int, *words: str) -> None:
    """A failure is one line on standard error, nothing on standard output, no traceback."""
    assert done.returncode == code, done.stderr
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1, done.stderr
    assert done.stderr.startswith("leaguesim: ")
    for word in words:
        assert word in done.stderr


def test_new_writes_a_center_that_check_accepts(center):
    done = call("check", str(center))
    assert done.returncode == 0
    assert "fine" in done.stdout
    assert done.stderr == ""


def test_new_never_overwrites(center):
    one_line(call("new", str(center)), 2, "files in it already")


def test_check_lists_all_faults_a_line_each(center, tmp_path):
    bad = tmp_path / "bad"
    shutil.copytree(center, bad)
    with (bad / "center.toml").open("a") as file:
        file.write("\n[nonsense]\nx = 1\n")
    (bad / "roster.csv").write_text("bowler,team,hand,style\n")
    done = call("check", str(bad))
    assert done.returncode == 2
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert len(lines) >= 2
    assert all(line.startswith("leaguesim: ") for line in lines)
    told = json.loads(call("check", str(bad), "--json").stdout)
    assert told["ok"] is False
    assert [f"leaguesim: {fault}" for fault in told["faults"]] == lines


@pytest.fixture
def mine(center, tmp_path) -> Path:
    """A copy of the center to harm."""
    folder = tmp_path / "mine"
    shutil.copytree(center, folder)
    return folder


@pytest.mark.parametrize(
    ("file", "text", "told"),
    [
        ("goals/best_compromise.toml", 'goal = "kept-hapy"\n', "did you mean kept-happy?"),
        ("tournaments/club_open.toml", "squads = 0\n", "squads"),
        ("sequences/plan.csv", "date,condition\n2027-01-05,tuesday_4O\n", "tuesday_40?"),
        ("scores.csv", "week,game1\n1,150\n", "missing column: bowler"),
    ],
)
def test_check_reads_what_other_commands_ask_for(mine, inside, file, text, told):
    (mine / file).parent.mkdir(exist_ok=True)
    (mine / file).write_text(text)
    done = inside("check", str(mine))
    assert done.returncode == 2
    assert done.stdout == ""
    assert file in done.stderr
    assert told in done.stderr


def test_check_tells_rows_of_scores_that_fit_leaves_out(mine, inside, monkeypatch):
    """They are no reason to stop: somebody who has left is in the scores and not in the roster."""
    (mine / "scores.csv").write_text(
        "week,bowler,game1,game2\n1,Lena H.,150,17o\n1,Lena G.,150,160\n2,Lena H.,150,160\n"
    )
    monkeypatch.chdir(mine.parent)
    done = inside("check", mine.name)
    assert done.returncode == 0
    said = " ".join(done.stdout.split())
    assert "2 games of 1 of 16 bowlers on 1 night; not used (2), and why:" in said
    assert 'scores.csv:2: game2: a letter in a number: "17o"' in said
    assert "did you mean Lena H.?" in said
    told = json.loads(inside("check", str(mine), "--json").stdout)
    assert told["ok"] is True
    assert len(told["not_used"]) == 2


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("rooster.csv", "missing file; did you mean rooster.csv? It must be called roster.csv"),
        ("Roster.CSV", "did you mean Roster.CSV?"),
        (
            "roster.xlsx",
            "missing file; there is roster.xlsx: in the spreadsheet, Save as, CSV UTF-8",
        ),
        ("people.csv", "roster.csv: missing file\n"),
    ],
)
def test_a_file_under_another_name_is_told(mine, inside, name, told):
    (mine / "roster.csv").rename(mine / name)
    one_line(inside("check", str(mine)), 2, told)


def test_check_schema_is_json():
    done = call("check", "--schema")
    assert done.returncode == 0
    assert {"center", "condition"} <= set(json.loads(done.stdout))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--workers", "0"], "--workers: a whole number from 1 to 64 is needed, got 0"),
        (["--workers", "65"], "got 65"),
        (["--nights", "0"], "--nights: a whole number of 1 or more is needed, got 0"),
        (["--seed", "-1"], "--seed: a whole number from 0 to 2**64 - 1 is needed, got -1"),
        (["--seed", str(2**64)], "from 0 to 2**64 - 1"),
        (["--nights", "many"], "--nights: a whole number of 1 or more is needed, got many"),
        (["--nigths", "3"], "--nights"),
    ],
)
def test_wrong_options_are_one_line(center, pair, inside, words, told):
    one_line(inside("compare", str(center), *pair, *words), 2, told)


def test_missing_things_are_one_line(center, pair, tmp_path, inside):
    call = inside
    one_line(call("compare", str(tmp_path / "no"), *pair), 2, "no")
    one_line(call("compare", str(center), "--now", pair[1]), 2, "--next")
    one_line(call("compare"), 2, "DIR")
    one_line(call("compair"), 2, "compair")
    one_line(call("check"), 2, "name the center's folder")
    far = call("compare", "--zebra")
    one_line(far, 2, "--zebra")
    assert "Possible" not in far.stderr
    assert "Did you mean" not in far.stderr
    wrong = call("compare", str(center), "--now", "nope", "--next", pair[3], "--json")
    one_line(wrong, 2, "nope", pair[3])


def test_output_place_is_checked_before_the_work(center, pair, tmp_path, inside):
    call = inside
    (tmp_path / "mine.txt").write_text("keep")
    one_line(call("compare", str(center), *pair, "--out", str(tmp_path)), 2, "not empty")
    twice = call("compare", str(center), *pair, "--out", str(tmp_path)).stderr
    assert twice.count(str(tmp_path)) == 1
    forced = call("compare", str(center), *pair, "--out", str(tmp_path), "--force")
    one_line(forced, 2, "mine.txt")
    one_line(call("compare", str(center), *pair, "--out", str(tmp_path / "mine.txt")), 2, "file")
    assert (tmp_path / "mine.txt").read_text() == "keep"


def test_compare_json_is_the_only_thing_on_stdout(few, pair, tmp_path):
    words = ["compare", str(few), *pair, "--nights", "2", "--seed", "7", "--json"]
    done = call(*words, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["schema"] == "leaguesim.compare/1"
    assert told["nights"] == 2
    assert told["manifest"]["seed"] == 7
    assert told["manifest"]["schema"] == "leaguesim.manifest/1"
    assert set(told["manifest"]["inputs"]) >= {"center.toml", "roster.csv"}
    assert list(tmp_path.iterdir()) == []  # no report unless asked for
    roster = csv.DictReader((few / "roster.csv").read_text().splitlines())
    assert {b["bowler"] for b in told["bowlers"]} == {r["bowler"] for r in roster}


@pytest.mark.slow
def test_compare_writes_a_whole_report_that_repeats(center, pair, tmp_path):
    words = ["compare", str(center), *pair, "--nights", "2", "--seed", "7"]
    first = call(*words, cwd=tmp_path)
    assert first.returncode == 0, first.stderr
    folder = tmp_path / "reports" / f"compare-{pair[1]}-{pair[3]}"
    manifest = json.loads((folder / "manifest.json").read_text())
    assert sorted(p.name for p in folder.iterdir()) == manifest["files"]
    assert {"page.html", "bowlers.csv", "styles.csv", "summary.json"} <= set(manifest["files"])
    assert first.stdout.splitlines()[-1] == f"Page: {folder.relative_to(tmp_path) / 'page.html'}"
    second = call(*words, "--out", "again", "--workers", "1", cwd=tmp_path)
    assert second.returncode == 0, second.stderr
    for name in ("bowlers.csv", "styles.csv", "scores.csv"):
        assert (folder / name).read_bytes() == (tmp_path / "again" / name).read_bytes()
    again = json.loads((tmp_path / "again" / "manifest.json").read_text())
    assert again["result_sha256"] == manifest["result_sha256"]
    third = call(*words, "--out", "again", "--force", "--quiet", cwd=tmp_path)
    assert third.returncode == 0
    assert third.stderr == ""


@pytest.mark.slow
def test_lane_writes_a_page_and_a_table(center, pair, tmp_path):
    done = call("lane", str(center), "--condition", pair[1], "--out", "look", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Crosswise ratio" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert (tmp_path / "look" / "page.html").stat().st_size < 2_500_000
    told = call("lane", str(center), "--condition", pair[1], "--json", cwd=tmp_path)
    assert json.loads(told.stdout)["schema"] == "leaguesim.lane/1"


@pytest.mark.slow
def test_validate_prints_only_json_and_counts_misses_as_results():
    done = call("validate", "--json", "--quiet")
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    checks = json.loads(done.stdout)["checks"]
    assert len(checks) >= 40
    for check in checks:
        assert {"name", "source", "expected", "model", "verdict"} <= set(check)
        assert check["verdict"] in {"pass", "miss"}
        assert check["source"]


@pytest.mark.slow
def test_interrupted_while_lining_up_leaves_nothing(center, pair, tmp_path):
    import signal

    running = subprocess.Popen(
        [sys.executable, "-c", START, "compare", str(center), *pair, "--seed", "1"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path,
    )  # fmt: skip
    assert running.stderr is not None
    first = running.stderr.readline()  # the first stage has begun
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=120)
    assert running.returncode == 130, err
    assert out == ""
    *before, last = (first + err).splitlines()
    assert last == "leaguesim: interrupted; nothing was written"
    told = [line for line in before if not line.endswith(" %")]  # how far it is, twice a minute
    assert len(told) <= 4  # compiling, and the first three stages
    assert all(line.endswith(" ...") or line.startswith("compiling") for line in told)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_a_full_disk_leaves_no_part_of_a_report(center, pair, tmp_path):
    """A limit on the size of a file stands in for a full disk: the system refuses either way."""
    import resource

    def small_files() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, 300_000))

    words = ("compare", str(center), *pair, "--nights", "1", "--seed", "1", "--out", "x")
    assert call(*words, "--json", cwd=tmp_path).returncode == 0  # compiles what is to be kept
    shutil.rmtree(tmp_path / "x")
    done = call(*words, "--quiet", cwd=tmp_path, preexec_fn=small_files)
    one_line(done, 2, "cannot be written", "no part of the report was left")
    one_line(done, 2, "finished block", "kept in x", "the same command with --seed 1")
    left = [p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*") if p.is_file()]
    assert left
    assert all(re.fullmatch(r"x/\.leaguesim-blocks-\w+/block-[\w-]+\.npz", p) for p in left), left


def test_a_reader_that_goes_away_is_no_error():
    with subprocess.Popen(
        [sys.executable, "-c", START, "check", "--schema"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.wait(timeout=60) == 0
        assert process.stderr.read() == ""


def test_our_fault_is_one_line_with_a_traceback_on_request(monkeypatch, capsys, center):
    import leaguesim.center
    from leaguesim.cli.main import main

    def broken(*_: object) -> None:
        raise RuntimeError("a thing\nbroke")

    monkeypatch.setattr(leaguesim.center, "read", broken, raising=False)
    assert main(["check", str(center)]) == 1
    said = capsys.readouterr().err
    assert said.splitlines() == [
        "leaguesim: our fault, not yours: RuntimeError: a thing broke (--debug shows where)"
    ]
    assert main(["check", str(center), "--debug"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_part_failed_is_exit_code_4(monkeypatch, capsys, center):
    import leaguesim.center
    from leaguesim.cli.main import main
    from leaguesim.errors import PartFailedError

    def partly(*_: object) -> None:
        raise PartFailedError("2 of 9 tasks failed; the others were kept")

    monkeypatch.setattr(leaguesim.center, "read", partly, raising=False)
    assert main(["check", str(center)]) == 4
    assert "2 of 9" in capsys.readouterr().err


def test_no_color_and_no_progress_in_a_pipe(center):
    done = call("check", str(center), env={**os.environ, "FORCE_COLOR": "1", "NO_COLOR": "1"})
    assert "\x1b" not in done.stdout + done.stderr


def test_help_names_exit_codes_and_examples():
    done = call("--help")
    assert done.returncode == 0
    assert re.search(r"Exit codes: 0 fine, 1 our fault, 2 the input is wrong", done.stdout)
    assert "leaguesim compare my-center --now" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_no_words_at_all_give_the_help():
    bare, asked = call(), call("--help")
    assert bare.returncode in (0, 2)
    assert bare.stdout == asked.stdout
    assert len(bare.stdout.splitlines()) > 20
    assert bare.stderr == ""


def test_a_cold_cache_is_announced_unless_quiet(monkeypatch, tmp_path, capsys):
    import leaguesim.compiled
    from leaguesim.cli.talk import COMPILING, progress

    monkeypatch.setattr(leaguesim.compiled, "cache_folder", lambda: tmp_path)
    with progress(False) as show:
        for what in ("a", "a", "b", "c", "d"):
            show(0, 0, what)
    assert capsys.readouterr().err.splitlines() == [COMPILING, "a ...", "b ...", "c ..."]
    with progress(True) as show:
        show(0, 0, "a")
    assert capsys.readouterr().err == ""
    (tmp_path / "kernel.nbi").write_bytes(b"x")
    with progress(False):
        pass
    assert capsys.readouterr().err == ""
