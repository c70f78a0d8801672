"""Columns worked on by a real Dask cluster of this machine, one worker killed while it runs."""

import os
import signal
import threading
import time

import pytest
import test_region_index as whole

from exposure.checks import RefusalError
from exposure.region import cluster, column_pass
from exposure.region.region_index import index_region

distributed = pytest.importorskip("distributed")


@pytest.fixture
def small_columns(monkeypatch):
    monkeypatch.setattr(column_pass, "CELLS_OF_A_COLUMN", 6)
    monkeypatch.setattr(cluster, "AT_ONCE", 1)


def test_a_lost_worker_changes_nothing(tmp_path, small_columns):
    grid = whole.store(whole.invented_grid(), tmp_path / "grid.zarr")
    expected = index_region(grid, tmp_path / "own", orientations=12, progress=False)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as running,
        distributed.Client(running) as client,
    ):
        first = client.run(os.getpid)
        lost: list[int] = []

        def kill_one():
            while not any(client.processing().values()):
                time.sleep(0.01)
            time.sleep(0.3)
            busy = next(address for address, keys in client.processing().items() if keys)
            os.kill(first[busy], signal.SIGKILL)
            lost.append(first[busy])

        killer = threading.Thread(target=kill_one)
        killer.start()
        found = index_region(grid, tmp_path / "cluster", orientations=12, dask=client, progress=False)
        killer.join(30)
        assert lost
        assert lost[0] not in client.run(os.getpid).values()
    whole.assert_same_bits(found, expected)


def test_a_scheduler_that_does_not_answer_is_told(tmp_path):
    grid = whole.store(whole.invented_grid(end="2010-02-01T00"), tmp_path / "grid.zarr")
    with pytest.raises(RefusalError, match="no Dask scheduler answers"):
        index_region(grid, tmp_path / "out", orientations=4, dask="tcp://127.0.0.1:1", progress=False)
