"""The starter material reaches an installed package: the same answers from a wheel and a checkout."""

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ASK = """
import json, sys
from pathlib import Path
import leaguesim
from leaguesim.center import demo_center, read, starter_folder, write_starter
demo = read(demo_center())
made = read(write_starter(sys.argv[1]))
print(json.dumps({
    "package": str(Path(leaguesim.__file__).parent),
    "material": str(starter_folder()),
    "demo": demo.file_hashes,
    "starter": made.file_hashes,
}))
"""


def _ask(package: Path, cwd: Path, target: Path) -> dict[str, object]:
    run = subprocess.run(
        [sys.executable, "-c", ASK, str(target)],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(package)},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert run.returncode == 0, run.stderr
    found: dict[str, object] = json.loads(run.stdout)
    return found


@pytest.mark.slow
def test_center_material_from_a_wheel_equals_the_checkout(tmp_path: Path) -> None:
    build = [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--no-build-isolation"]
    made = subprocess.run(
        [*build, "--quiet", "--wheel-dir", str(tmp_path / "wheels")],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=200,
    )
    assert made.returncode == 0, made.stderr
    (wheel,) = (tmp_path / "wheels").glob("leaguesim-*.whl")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(tmp_path / "site")
    own = _ask(tmp_path / "site", tmp_path, tmp_path / "one")
    checkout = _ask(ROOT, tmp_path, tmp_path / "two")
    assert own["package"] == str(tmp_path / "site" / "leaguesim")
    assert own["material"] == str(tmp_path / "site" / "leaguesim" / "_starter")
    assert checkout["material"] == str(ROOT / "profiles")
    assert own["demo"] == checkout["demo"]
    assert own["starter"] == checkout["starter"]
