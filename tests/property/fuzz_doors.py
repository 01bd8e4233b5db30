"""Coverage-guided fuzzing of every TOML and CSV door: run by hand, never by pytest.

    pip install atheris
    nice -n 19 python tests/property/fuzz_doors.py --minutes 30 --corpus /tmp/doors

An input is one byte that names the file and the file's content.  A finding is anything but a center or
one-line faults: another exception, more than 10 s, a fault of two lines, or a value that the rules exclude
(``check``).  Findings lie as crash-* in the corpus folder; once mended they are kept in ``fuzz_cases/``, which
``test_center_fuzz_cases.py`` replays.
"""

import argparse
import importlib.util
import math
import resource
import sys
import tempfile
import time
from pathlib import Path
from types import ModuleType
from typing import Any

HERE = Path(__file__).parent
WORDS = (
    "nan", "inf", "-1", "1e999", "true", "0x7f", '"""', "'''", "[[", "]]", "{", "}", " = ", "1,200",
    "16,5", "\\xef\\xbb\\xbf", "\\xc2\\xa0", ";", "\\\\t", "=1+1", "2026-02-30", "46000", "substitute", "prebowl",
    "lane_pair", "strikes", "spares", "opens", "condition", "game", "score", "week",
)  # fmt: skip


def tiny() -> ModuleType:
    """The module of the tiny center."""
    path = HERE.parent / "tiny_center.py"
    spec = importlib.util.spec_from_file_location("tiny_center", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def numbers(value: Any) -> list[float]:
    """Every number in a value made of dataclasses, tuples and dictionaries."""
    if isinstance(value, bool):
        return []
    if isinstance(value, (int, float)):
        return [value]
    if isinstance(value, dict):
        return [n for part in value.values() for n in numbers(part)]
    if isinstance(value, (list, tuple)):
        return [n for part in value for n in numbers(part)]
    if hasattr(value, "__dataclass_fields__"):
        return [n for name in value.__dataclass_fields__ for n in numbers(getattr(value, name))]
    return []


def check(door: Any, name: str, content: bytes) -> None:
    """AssertionError if the door let something by that its rules exclude."""
    faults, made = door.told(name, content)
    for text in faults:
        assert text, "a fault without words"
        assert text.isprintable(), f"a fault that is not one line: {text!r}"
        assert len(text) < 3000, "a fault that nobody reads"
    if made is None:
        assert faults, "refused without a word"
        return
    if name == "scores.csv":
        check_scores(door, made, content)
        return
    assert all(math.isfinite(n) for n in numbers(made)), "not a finite number"
    for line in getattr(made, "roster", ()):
        assert line.hand in ("right", "left")
        assert line.style in door.center.styles or line.style == "unknown"
        assert line.average is None or 30 <= line.average <= 279
        assert line.speed_mph is None or 5 <= line.speed_mph <= 30
    if name == "roster.csv":
        rows = [r for r in content.decode("utf-8-sig").split("\n") if r.strip(" \r\t,;")]
        assert len(made.roster) <= len(rows) - 1 + content.count(b"\r"), "a bowler from nowhere"


def check_scores(door: Any, made: Any, content: bytes) -> None:
    """Every game taken from a file of scores stands on its line, digit by digit."""
    lines = content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for row in made.games.itertuples():
        assert 0 <= row.score <= 300
        assert row.bowler in {r.bowler for r in door.center.roster}
        text = "".join(lines[row.line - 1 :])
        assert str(row.score)[-1] in text or not text.isascii(), (
            f"{row.score} is not on line {row.line}"
        )


def main() -> None:
    """Fuzz for so many CPU minutes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--corpus", type=Path, required=True)
    asked = parser.parse_args()

    import atheris

    with atheris.instrument_imports(include=["leaguesim.center", "tomllib", "csv"]):
        made = tiny()
    root = "/dev/shm" if Path("/dev/shm").is_dir() else None
    door = made.Door(Path(tempfile.mkdtemp(dir=root)) / "hall")
    names = sorted(made.FILES)
    asked.corpus.mkdir(parents=True, exist_ok=True)
    for i, name in enumerate(names):
        (asked.corpus / f"seed-{i:02d}").write_bytes(bytes([i]) + made.FILES[name].encode())
    for case in (HERE / "fuzz_cases").glob("*"):
        (asked.corpus / case.name).write_bytes(case.read_bytes())
    words = asked.corpus.parent / f"{asked.corpus.name}.dict"
    keys = {
        w for text in made.FILES.values() for w in text.replace("=", " ").replace(",", " ").split()
    }
    plain = sorted(k.strip('"[]{}') for k in keys if k.isascii() and '"' not in k and "\\" not in k)
    words.write_text(
        "\n".join(f'"{w}"' for w in [*plain, *(w.replace('"', '\\"') for w in WORDS)] if w)
    )
    count = 0
    limit = asked.minutes * 60.0

    def one(data: bytes) -> None:
        nonlocal count
        count += 1
        if data:
            before = time.process_time()  # not the clock: a busy machine is no finding
            check(door, names[data[0] % len(names)], data[1:])
            assert time.process_time() - before < 10.0, "more than 10 s"
        if count % 2000 == 0:
            used = resource.getrusage(resource.RUSAGE_SELF)
            seconds = used.ru_utime + used.ru_stime
            print(
                f"{count} executions, {seconds / 60:.1f} CPU minutes", file=sys.stderr, flush=True
            )
            if seconds > limit:
                sys.stderr.flush()
                import os

                os._exit(0)

    atheris.Setup(
        [
            sys.argv[0], str(asked.corpus), f"-dict={words}", "-max_len=4096", "-timeout=1200",
            f"-artifact_prefix={asked.corpus.parent}/", "-rss_limit_mb=3000", "-print_final_stats=1",
        ],
        one,
    )  # fmt: skip
    atheris.Fuzz()


if __name__ == "__main__":
    main()
