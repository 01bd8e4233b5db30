"""Makes the sample reports in reports/ again: ``python -m leaguesim.cli.samples [--out reports]``.

One folder a command, from the shipped demo center with fixed seed and nights, an index, and a picture of
the first screen if Chromium is on the machine.  ``--check`` changes nothing: it makes every sample
anew elsewhere and says what differs; ``--check --quick`` only reads what lies there.  Does not compute
anything of its own: it runs the commands.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

from leaguesim.cli.samplecheck import differences, faults_of
from leaguesim.errors import LeaguesimError, OutputError

SEED = "1"
NIGHTS = "64"
SAMPLES = {
    "sample-compare": ["demo", "--seed", SEED, "--nights", NIGHTS],
    "sample-lane": ["lane", "{demo}", "--condition", "tuesday_40", "--seed", SEED],
    "sample-validate": ["validate"],
    "sample-fit": ["fit", "{demo}", "--seed", SEED],
    "sample-fairness": [
        "fairness", "{demo}", "--condition", "thursday_42", "--against", "tuesday_40",
        "--seed", SEED, "--nights", NIGHTS,
    ],
    "sample-tune": ["tune", "{demo}", "--goal", "quick_look", "--seed", SEED],
    "sample-tournament": [
        "tournament", "{demo}", "--format", "spring_open", "--seed", SEED, "--played", NIGHTS,
    ],
}  # fmt: skip
REMAKE = "python -m leaguesim.cli.samples makes them anew"
PICTURE = "sample-first-screen.png"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
BROWSER_OPTIONS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip


def words_of(name: str) -> list[str]:
    """The command of a sample, without its place."""
    from leaguesim.center import demo_center

    return [w.format(demo=os.path.relpath(demo_center())) for w in SAMPLES[name]]


def make(out: Path, names: Iterable[str] = tuple(SAMPLES)) -> list[Path]:
    """Make samples below ``out`` anew; returns the folders.

    Raises
    ------
    OutputError : a command failed, with the last line of what it said
    """
    made = []
    for name in names:
        folder = out / name
        _run([*words_of(name), "--out", str(folder), "--force", "--quiet"])
        made.append(folder)
    return made


def quick_faults(out: Path) -> list[str]:
    """What is wrong with the samples as they lie there; nothing is made."""
    from leaguesim.center import demo_center, read

    demo = demo_center()
    inputs = dict(read(demo).file_hashes)
    faults = [f for name in SAMPLES for f in faults_of(out / name, words_of(name), inputs, demo)]
    known = set(SAMPLES)
    found = {p.name for p in out.glob("sample-*") if p.is_dir()}
    return faults + [f"{name}: no command makes it" for name in sorted(found - known)]


def remade_faults(out: Path, names: Iterable[str] = tuple(SAMPLES)) -> list[str]:
    """What differs from samples made anew in a folder of their own."""
    faults = []
    with tempfile.TemporaryDirectory() as scratch:
        for name in names:
            if (out / name / "manifest.json").is_file():
                (new,) = make(Path(scratch), [name])
                faults += differences(out / name, new)
    return faults


def _run(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from leaguesim.cli.main import run; run()", *words],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        said = done.stderr.strip().splitlines() or ["(nothing)"]
        raise OutputError(f"leaguesim {' '.join(words)}: {said[-1]}")


def picture(page: Path, to: Path, *, width: int = 1100, height: int = 900) -> bool:
    """A PNG of a page's first screen; False where no browser is installed."""
    browser = next((b for b in BROWSERS if shutil.which(b)), None)
    if browser is None:
        return False
    with tempfile.TemporaryDirectory() as scratch:
        subprocess.run(
            [
                browser, *BROWSER_OPTIONS, f"--user-data-dir={scratch}", "--virtual-time-budget=8000",
                f"--window-size={width},{height}", f"--screenshot={to}", page.resolve().as_uri(),
            ],
            check=True,
            capture_output=True,
        )  # fmt: skip
    return True


def _check(out: Path, quick: bool) -> int:
    """Say what differs; 0 nothing, 4 something."""
    faults = quick_faults(out)
    if not quick:
        faults += remade_faults(out)
    for fault in faults:
        sys.stderr.write(f"{fault}\n")
    told = "as the code makes them" if not faults else f"{len(faults)} differences; {REMAKE}"
    sys.stderr.write(f"samples in {out}: {told}\n")
    return 4 if faults else 0


def _make(out: Path) -> int:
    started = time.monotonic()
    for name in SAMPLES:
        begun = time.monotonic()
        (folder,) = make(out, [name])
        size = (folder / "page.html").stat().st_size
        took = time.monotonic() - begun
        sys.stderr.write(f"made {folder} in {took:.0f} s, its page has {size / 1e6:.2f} MB\n")
    _run(["index", str(out), "--quiet"])
    compared = out / "sample-compare"
    if not picture(compared / "page.html", out / PICTURE):
        sys.stderr.write(f"no browser found: {PICTURE} was not made\n")
    sys.stderr.write(f"all of it in {time.monotonic() - started:.0f} s\n")
    return 0


def main(words: list[str] | None = None) -> int:
    """Entry point of ``python -m leaguesim.cli.samples``."""
    words = sys.argv[1:] if words is None else words
    out = Path(words[words.index("--out") + 1] if "--out" in words[:-1] else "reports")
    try:
        return _check(out, "--quick" in words) if "--check" in words else _make(out)
    except LeaguesimError as error:
        sys.stderr.write(f"leaguesim: {error}\n")
        return error.exit_code


if __name__ == "__main__":
    sys.exit(main())
