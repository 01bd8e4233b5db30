"""A local dask cluster of three processes, one killed in the middle; a scheduler that is restarted."""

import os
import signal
import socket
import subprocess
import sys
import time
from dataclasses import fields

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.run.engine import Engine, using
from leaguesim.run.rounds import Plan, play_nights

pytest.importorskip("distributed", reason="the cluster extra is not installed")


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


class Cluster:
    """A scheduler and workers, each a process of its own."""

    def __init__(self, folder, workers: int = 3) -> None:
        self.port, self.folder = free_port(), folder
        self.address = f"tcp://127.0.0.1:{self.port}"
        self.scheduler = self.start_scheduler()
        self.workers = [self.start_worker() for _ in range(workers)]

    def _start(self, *words: str) -> subprocess.Popen:
        return subprocess.Popen(
            [sys.executable, "-m", *words], cwd=self.folder,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def start_scheduler(self) -> subprocess.Popen:
        return self._start(
            "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", str(self.port),
            "--no-dashboard",
        )  # fmt: skip

    def start_worker(self) -> subprocess.Popen:
        return self._start(
            "distributed.cli.dask_worker", self.address, "--nthreads", "1", "--no-nanny",
            "--no-dashboard", "--memory-limit", "0", "--death-timeout", "60",
        )  # fmt: skip

    def wait(self, count: int) -> None:
        import distributed

        with distributed.Client(self.address, timeout=30, set_as_default=False) as client:
            client.wait_for_workers(count, timeout=30)

    def close(self) -> None:
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()


@pytest.fixture
def cluster(tmp_path):
    made = Cluster(tmp_path)
    try:
        made.wait(3)
        yield made
    finally:
        made.close()


@pytest.fixture(scope="module")
def plan(small, floor_and_pins):
    made, setting = floor_and_pins
    groups = np.ones((1, len(made.order)), np.bool_)
    return Plan([setting], made.pairs, made.pins, small.center().league, groups, 11)


def same(a, b) -> None:
    for f in fields(a):
        assert np.array_equal(getattr(a, f.name), getattr(b, f.name)), f.name


@pytest.mark.slow
def test_a_worker_killed_in_the_middle_changes_no_byte(plan, cluster):
    alone = play_nights(plan, 0, 320, 1)
    seen = []

    def tell(_nights: int) -> None:
        seen.append(len(seen))
        if len(seen) == 4:
            os.kill(cluster.workers[1].pid, signal.SIGKILL)

    with using(Engine(scheduler=cluster.address)):
        spread = play_nights(plan, 0, 320, 1, tell)
    same(alone, spread)
    assert len(seen) == 20
    assert cluster.workers[1].wait(timeout=10) == -signal.SIGKILL


@pytest.mark.slow
def test_a_restarted_scheduler_loses_no_finished_block(plan, cluster):
    alone = play_nights(plan, 0, 320, 1)
    seen = []

    def tell(_nights: int) -> None:
        seen.append(1)
        if len(seen) == 4:
            for process in (cluster.scheduler, *cluster.workers):
                process.kill()
                process.wait()
            time.sleep(1.0)
            cluster.scheduler = cluster.start_scheduler()
            cluster.workers = [cluster.start_worker() for _ in range(2)]

    with using(Engine(scheduler=cluster.address)):
        spread = play_nights(plan, 0, 320, 1, tell)
    same(alone, spread)
    assert len(seen) == 20  # each task handed over once


def test_no_scheduler_is_the_users_fault(plan, monkeypatch):
    monkeypatch.setattr("leaguesim.run.cluster.FIRST_WAIT_S", 1.0)
    with (
        using(Engine(scheduler=f"tcp://127.0.0.1:{free_port()}")),
        pytest.raises(InputError, match="no dask scheduler at"),
    ):
        play_nights(plan, 0, 32, 1)
