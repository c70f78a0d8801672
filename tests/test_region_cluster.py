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


@pytest.mark.slow
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


def test_a_scheduler_that_does_not_answer_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(cluster, "ANSWER", 1)
    grid = whole.store(whole.invented_grid(end="2010-02-01T00"), tmp_path / "grid.zarr")
    with pytest.raises(RefusalError, match="no Dask scheduler answers"):
        index_region(grid, tmp_path / "out", orientations=4, dask="tcp://127.0.0.1:1", progress=False)


def test_a_scheduler_without_workers_is_told_and_not_waited_for_without_end(tmp_path, monkeypatch):
    monkeypatch.setattr(cluster, "PATIENCE", 1)
    grid = whole.store(whole.invented_grid(end="2010-02-01T00"), tmp_path / "grid.zarr")
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=None, silence_logs=50) as running,
        pytest.raises(RefusalError, match="no worker for 1 s"),
    ):
        index_region(grid, tmp_path / "out", orientations=4, dask=running.scheduler_address, progress=False)


@pytest.mark.slow
def test_workers_lost_again_and_again_are_told_and_what_came_back_is_kept(
    tmp_path, small_columns, monkeypatch
):
    grid = whole.store(whole.invented_grid(), tmp_path / "grid.zarr")
    expected = index_region(grid, tmp_path / "own", orientations=12, progress=False)
    monkeypatch.setattr(cluster, "RETRIES", 0)
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as running,
        distributed.Client(running) as client,
    ):
        client.run_on_scheduler(lambda dask_scheduler: setattr(dask_scheduler, "allowed_failures", 0))
        ends = threading.Thread(target=kill_after_the_first, args=(client, tmp_path / "out"))
        ends.start()
        with pytest.raises(RefusalError, match="the cluster failed"):
            index_region(grid, tmp_path / "out", orientations=12, dask=client, progress=False)
        ends.join(30)
    assert list((tmp_path / "out").glob("work/column-*/state.npz"))
    whole.assert_same_bits(index_region(grid, tmp_path / "out", orientations=12, progress=False), expected)


def kill_after_the_first(client, out) -> None:
    """Kill each worker that has work once a column has come back."""
    until = time.monotonic() + 60
    while not list(out.glob("work/column-*/state.npz")) and time.monotonic() < until:
        time.sleep(0.005)
    for _ in range(3):
        for pid in client.run(os.getpid).values():
            os.kill(pid, signal.SIGKILL)
        time.sleep(0.5)


def test_a_store_in_chunks_of_time_gives_work_to_every_worker(tmp_path):
    """Day chunks of the whole field: cut inside, so that each worker has columns of its own; the same bits."""
    data = whole.invented_grid(end="2010-12-31T23")
    path = tmp_path / "days.zarr"
    data.to_zarr(path, zarr_format=3, encoding={name: {"chunks": (24, 4, 6)} for name in whole.VARIABLES})
    own = index_region(path, tmp_path / "own", orientations=8, progress=False)
    assert len(list((tmp_path / "own").glob("work/column-*"))) == 1
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=2, processes=False, dashboard_address=None, silence_logs=50
    ) as running:
        found = index_region(
            path, tmp_path / "cluster", orientations=8, dask=running.scheduler_address, progress=False
        )
    assert len(list((tmp_path / "cluster").glob("work/column-*"))) >= 4
    whole.assert_same_bits(found, own)
    again = index_region(path, tmp_path / "cluster", orientations=8, progress=False)  # without the cluster
    whole.assert_same_bits(again, own)
