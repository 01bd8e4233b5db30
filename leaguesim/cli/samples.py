"""Makes the sample reports in reports/ again: ``python -m leaguesim.cli.samples [--out reports]``.

One folder a command, from the shipped demo center with fixed seed and nights, and a picture of the first
screen if Chromium is on the machine.  Does not compute anything of its own: it runs the commands.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from leaguesim.errors import OutputError

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
    "sample-tournament": [
        "tournament", "{demo}", "--format", "spring_open", "--seed", SEED, "--played", NIGHTS,
    ],
}  # fmt: skip
PICTURE = "sample-first-screen.png"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
BROWSER_OPTIONS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--hide-scrollbars",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip


def make(out: Path) -> list[Path]:
    """Make every sample below ``out`` anew; returns the folders.

    Raises
    ------
    OutputError : a command failed, with the last line of what it said
    """
    from leaguesim.center import demo_center

    made = []
    for name, words in SAMPLES.items():
        command = [w.format(demo=os.path.relpath(demo_center())) for w in words]
        folder = out / name
        _run([*command, "--out", str(folder), "--force", "--quiet"])
        made.append(folder)
    return made


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


def main() -> None:
    """Entry point of ``python -m leaguesim.cli.samples``."""
    words = sys.argv[1:]
    out = Path(words[words.index("--out") + 1] if "--out" in words[:-1] else "reports")
    for folder in make(out):
        sys.stderr.write(f"made {folder}\n")
    compared = out / "sample-compare"
    if not picture(compared / "page.html", out / PICTURE):
        sys.stderr.write(f"no browser found: {PICTURE} was not made\n")


if __name__ == "__main__":
    main()
