"""Build the carry library: seeded, parallel, resumable runs of the rigid model.

``python -m leaguesim.pins.build --rows N --workers 1 --out DIR`` writes parts into DIR and, from all
parts there, DIR/carry.npz; stopped and started again it goes on where it was.  Row ``k`` depends on
the seed and ``k`` alone, so workers and parts change nothing.  Does not fit parameters.
"""

import argparse
import json
import sys
import time
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import asdict
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import LibraryError
from leaguesim.pins import doubt, runs, second
from leaguesim.pins.carry import EDGES, CarryLibrary, write_library
from leaguesim.pins.rigid import (
    MODEL_VERSION,
    RigidDeck,
    RigidSettings,
    RigidShot,
    model_xml,
)
from leaguesim.pins.rigid_checks import impact
from leaguesim.pins.spec import FULL_RACK
from leaguesim.streams import Purpose, stream

SEED: Final = 20261125
PART_ROWS: Final = 100
SPARE_ROWS: Final = 240
SPARE_LEAVES: Final = 40
# Shares of the rows: the pocket at league speeds, the head pin at league speeds, everywhere.
POCKET_SHARE, HEAD_SHARE = 0.40, 0.32
MOVED_STEP_M: Final = 0.002
Columns = dict[str, NDArray[Any]]


def first_ball_point(k: int, seed: int) -> tuple[NDArray[np.float64], np.random.Generator]:
    """Offset, angle, speed, mass and sideways slip of row ``k``, and the generator of its rack."""
    rng = stream(seed, Purpose.LIBRARY_BUILD, replicate=k, identity="first")
    kind, u = rng.random(), rng.random(5)
    low, high = np.array(EDGES[0::2]), np.array(EDGES[1::2])
    if kind < POCKET_SHARE:
        low, high = np.array([-1.0, 0.5, 5.5, 5.4]), np.array([5.0, 8.0, 8.5, 7.26])
    elif kind < POCKET_SHARE + HEAD_SHARE:
        low, high = np.array([-6.5, -2.0, 5.0, 4.8]), np.array([6.5, 8.0, 9.0, 7.26])
    point = low + u[:4] * (high - low)
    slip = 1.5 * u[4] if kind < POCKET_SHARE + HEAD_SHARE else 0.0
    return np.append(point, slip), rng


def spare_point(leave: int, k: int, seed: int) -> tuple[NDArray[np.float64], np.random.Generator]:
    """As ``first_ball_point`` for a second ball at a leave: offsets that can touch it."""
    rng = stream(seed, Purpose.LIBRARY_BUILD, replicate=k, identity=f"spare {leave}")
    low, high = touching_boards(leave)
    angle, speed, mass = second.league_mix(1, rng)
    offset = low + (high - low) * rng.random()
    return np.array([offset, angle[0], speed[0], mass[0], 0.0]), rng


def touching_boards(leave: int) -> tuple[float, float]:
    """Offsets between which a ball can touch some pin of a leave, whatever its league angle."""
    from leaguesim.pins.spec import SPOTS_M, pins_in
    from leaguesim.units import BOARD_M

    reach = 0.172
    right = []
    for pin in pins_in(leave):
        x, y = SPOTS_M[pin - 1]
        right += [(reach - y + 0.11 * x) / BOARD_M, (-reach - y - 0.035 * x) / BOARD_M]
    ends = min(right), max(right)
    return max(ends[0], -19.5), min(ends[1], 19.5)


def run_part(first: int, count: int, leave: int, seed: int, settings: RigidSettings) -> Columns:
    """Simulate rows ``first`` ... of the first balls (``leave`` 0) or of a leave's second balls."""
    deck = RigidDeck(settings)
    points, shots = [], []
    for k in range(first, first + count):
        point, rng = spare_point(leave, k, seed) if leave else first_ball_point(k, seed)
        b, a, v, m, slip = (float(x) for x in point)
        rack = leave or FULL_RACK
        shots.append(deck.shoot(b, a, v, m, rng, rack=rack, slip_mps=slip))
        points.append(point)
    return _columns(np.array(points), shots)


def _columns(points: NDArray[np.float64], shots: list[RigidShot]) -> Columns:
    moved = np.rint(np.array([shot.moved_m for shot in shots]) / MOVED_STEP_M).clip(0, 255)
    return {
        "offset_board": points[:, 0].astype(np.float32),
        "entry_deg": points[:, 1].astype(np.float32),
        "speed_mps": points[:, 2].astype(np.float32),
        "ball_kg": points[:, 3].astype(np.float32),
        "slip_mps": points[:, 4].astype(np.float16),
        "mask": np.array([shot.down for shot in shots], np.uint16),
        "moved_2mm": moved.astype(np.uint8),
        "exit_board": np.array([shot.exit_board for shot in shots], np.float16),
    }


def key(seed: int, settings: RigidSettings) -> str:
    """Names the parts that belong together: seed, parameters and the model itself."""
    h = blake2b(digest_size=6)
    about = [seed, MODEL_VERSION, model_xml(settings.step_s), asdict(settings)]
    h.update(json.dumps(about, sort_keys=True).encode())
    return h.hexdigest()


def _simulate(
    jobs: list[tuple[Path, int, int, int]], workers: int, seed: int, settings: RigidSettings
) -> None:
    """Run the jobs whose part file is absent, with a line of progress on stderr."""
    todo = [job for job in jobs if not job[0].exists()]
    done, total, start = 0, sum(job[2] for job in todo), time.monotonic()
    work = partial(_write_part, seed=seed, settings=settings)
    with ProcessPoolExecutor(workers) as pool:
        waiting = {pool.submit(work, *job): job[2] for job in todo}
        while waiting:
            finished, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in finished:
                future.result()
                done += waiting.pop(future)
            left = (time.monotonic() - start) / done * (total - done)
            filled = 30 * done // total
            bar = "#" * filled + "." * (30 - filled)
            sys.stderr.write(f"\r{bar} {done}/{total} shots, {left / 60:.0f} min left ")
            sys.stderr.flush()


def _write_part(
    path: Path, first: int, count: int, leave: int, *, seed: int, settings: RigidSettings
) -> None:
    columns = run_part(first, count, leave, seed, settings)
    temporary = path.with_name(path.name + ".part.npz")
    np.savez(temporary, **columns)  # type: ignore[arg-type]
    temporary.replace(path)


def gather(paths: list[Path]) -> Columns:
    """The parts' rows in order of their names."""
    parts = []
    for path in sorted(paths):
        with np.load(path) as data:
            parts.append({name: data[name] for name in data.files})
    if not parts:
        raise LibraryError("no finished parts to gather")
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def first_jobs(out: Path, mark: str, rows: int) -> list[tuple[Path, int, int, int]]:
    """The first balls' parts: file, first row, rows, leave 0."""
    parts = -(-rows // PART_ROWS)
    return [(out / f"first-{mark}-{i:05d}.npz", i * PART_ROWS, PART_ROWS, 0) for i in range(parts)]


def common_leaves(masks: NDArray[Any], weights: NDArray[np.float64], how_many: int) -> list[int]:
    """Leaves by how often the rows produce them, commonest first."""
    leaves = FULL_RACK - masks.astype(np.int64)
    share = np.bincount(leaves, weights, minlength=FULL_RACK + 1)
    share[0] = 0.0
    order = np.argsort(-share, kind="stable")
    return [int(leave) for leave in order[:how_many] if share[leave] > 0.0]


def league_weights(rows: Columns) -> NDArray[np.float64]:
    """How much a row counts for what leagues leave: spread wide round the pocket (assumed)."""
    b, a = rows["offset_board"].astype(float), rows["entry_deg"].astype(float)
    v, m = rows["speed_mps"].astype(float), rows["ball_kg"].astype(float)
    near = np.exp(-0.5 * ((b - 1.8) / 3.0) ** 2 - 0.5 * ((a - 4.0) / 1.8) ** 2)
    league = np.exp(-0.5 * ((v - 7.3) / 0.8) ** 2 - 0.5 * ((m - 6.6) / 0.6) ** 2)
    return np.asarray(near * league)


def smoothed_laws(
    rows: Columns, reach_board: float = 0.6
) -> list[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """A leave's rigid rows as a law at each grid offset; none in reach = the ball passes by."""
    offset = rows["offset_board"].astype(float)
    masks = rows["mask"].astype(np.int64)
    nothing = np.zeros(1, np.int64), np.ones(1, np.int64)
    out = []
    for at in second.GRID_BOARD:
        weight = np.maximum(0.0, 1.0 - ((offset - at) / reach_board) ** 2)
        near = weight > 0.0
        out.append(second.sorted_counts(masks[near], weight[near]) if near.any() else nothing)
    return out


def assemble(out: Path, mark: str, seed: int, settings: RigidSettings) -> str:
    """Gather all finished parts into out/carry.npz; returns the digest."""
    rows = gather(list(out.glob(f"first-{mark}-*.npz")))
    rng = stream(seed, Purpose.LIBRARY_BUILD, identity="planar")
    found: dict[int, list[tuple[NDArray[np.int64], NDArray[np.int64]]]] = {}
    spare_counts: dict[int, int] = {}
    for leave in range(1, FULL_RACK):
        parts = list(out.glob(f"spare-{mark}-{leave:04d}-*.npz"))
        if parts:
            spare = gather(parts)
            spare_counts[leave] = len(spare["mask"])
            if spare_counts[leave] >= 200:
                found[leave] = smoothed_laws(spare)
    rigid = set(found)
    gap = second.planar_gap(found, rng)
    for leave in np.unique(FULL_RACK - rows["mask"].astype(np.int64)):
        if leave and int(leave) not in found:
            found[int(leave)] = second.planar_laws(int(leave), rng)
    about = {
        "seed": seed, "model": mark, "parameters": asdict(settings), "rows": len(rows["mask"]),
        "second_ball_rows": spare_counts, "edges": list(EDGES),
        "planar_gap": gap, "measured": measured(settings),
        "shares": [POCKET_SHARE, HEAD_SHARE], "moved_step_m": MOVED_STEP_M,
    }  # fmt: skip
    return write_library(out / "carry.npz", {**rows, **second.pack(found, rigid)}, about)


def measured(settings: RigidSettings) -> dict[str, float]:
    """Restitution at 7 m/s and the largest error of a contact normal, as the engine shows them."""
    ball = impact(settings, ball=True)
    pin = impact(settings, ball=False)
    aside = [impact(settings, ball=kind, miss_m=0.05).normal_error_deg for kind in (True, False)]
    return {
        "ball_pin": ball.restitution, "pin_pin": pin.restitution, "normal_error_deg": max(aside),
    }  # fmt: skip


def main(arguments: list[str] | None = None) -> int:
    """Run the build from a command line; see the module's text."""
    parser = argparse.ArgumentParser(prog="python -m leaguesim.pins.build", description=__doc__)
    parser.add_argument("--rows", type=int, default=20000, help="first balls in all")
    parser.add_argument("--leaves", type=int, default=SPARE_LEAVES, help="leaves shot at")
    parser.add_argument("--spare-rows", type=int, default=SPARE_ROWS, help="second balls a leave")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, required=True, help="folder of the parts")
    parser.add_argument("--gather", action="store_true", help="only gather the finished parts")
    parser.add_argument(
        "--runs", type=int, help="instead: this many shots at every other parameter setting, "
        "and 200 leaves for the disc model; writes DIR/runs.npz",
    )  # fmt: skip
    options = parser.parse_args(arguments)
    settings = RigidSettings()
    if options.runs is not None:
        return _runs(options)
    out, mark = options.out, key(options.seed, settings)
    out.mkdir(parents=True, exist_ok=True)
    if not options.gather:
        _simulate(first_jobs(out, mark, options.rows), options.workers, options.seed, settings)
        rows = gather(list(out.glob(f"first-{mark}-*.npz")))
        leaves = common_leaves(rows["mask"], league_weights(rows), options.leaves)
        _simulate(
            [
                (out / f"spare-{mark}-{leave:04d}-{i:03d}.npz", i * 80, 80, leave)
                for leave in leaves
                for i in range(-(-options.spare_rows // 80))
            ],
            options.workers, options.seed, settings,
        )  # fmt: skip
    sys.stderr.write(f"\n{assemble(out, mark, options.seed, settings)} {out / 'carry.npz'}\n")
    return 0


def _runs(options: argparse.Namespace) -> int:
    """Make or go on with the parameter runs and the leaves; gather what is there."""
    out, mark = options.out, key(options.seed, RigidSettings())
    out.mkdir(parents=True, exist_ok=True)
    if not options.gather:
        leaves = runs.checked_leaves(CarryLibrary.load().rows, options.seed)
        blocks = -(-options.runs // runs.BLOCK)
        todo = [(out / f"leave-{mark}-{leave:04d}.npz", leave, False) for leave in leaves]
        todo += [(out / f"runs-{mark}-{i:04d}.npz", i, True) for i in range(blocks)]
        todo = [job for job in todo if not job[0].exists()]
        with ProcessPoolExecutor(options.workers) as pool:
            done = pool.map(partial(_run_job, seed=options.seed), todo)
            for n, _ in enumerate(done, 1):
                sys.stderr.write(f"\r{n}/{len(todo)} parts ")
                sys.stderr.flush()
    arrays = gather(list(out.glob(f"runs-{mark}-*.npz")))
    arrays |= gather(list(out.glob(f"leave-{mark}-*.npz")))
    library = CarryLibrary.load()
    known = doubt.fit(library, arrays["points"].astype(float), arrays["masks"])
    arrays |= {"mean": known.mean.astype(np.float32), "root": known.root.astype(np.float32)}
    about = {"seed": options.seed, "model": mark, "shots": len(arrays["masks"]), **runs.about()}
    about |= {"leave_gap": runs.leave_gap(arrays), "library_rows": len(library.rows["mask"])}
    sys.stderr.write(f"\n{write_library(out / 'runs.npz', arrays, about)} {out / 'runs.npz'}\n")
    return 0


def _run_job(job: tuple[Path, int, bool], *, seed: int) -> None:
    path, which, parameters = job
    (runs.write_block if parameters else runs.write_leave)(path, which, seed)


if __name__ == "__main__":
    sys.exit(main())
