"""Kept sounds heard by workers in processes of their own: the same verdicts, and what is lost with a worker."""

from __future__ import annotations

import importlib.util
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from heard_stage import LISTENERS, demonstration_store

from assistant import settings
from assistant.cli.main import ExitStatus, run
from assistant.errors import ListenerMissing
from assistant.learning.heard_again import all_kept, with_sound
from assistant.listening.cluster import ListeningCluster, Who, _check_same
from assistant.live.farm import Farm
from assistant.store.store import Store
from assistant.values import Sound, Verdict

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None,
    reason="Dask is not installed: pip install 'handling-assistant[cluster]'",
)

NAMES = list(LISTENERS)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """A scheduler with two workers, each a process that is started again if it dies."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as started:
        yield started


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    """A store with the beginning of the demonstration."""
    return demonstration_store(tmp_path_factory.mktemp("cluster"), 20)


def kept(held: Store) -> list[tuple[str, Sound]]:
    return [(one.remark.id, sound) for one, sound in with_sound(held, all_kept(held))]


def verdicts(hearers: Any, sounds: list[tuple[str, Sound]]) -> list[tuple[str, Verdict]]:
    return [(key, verdict) for key, _, verdict in hearers.in_order(sounds)]


def test_two_workers_give_the_verdicts_of_this_process_in_their_order(store, cluster) -> None:
    with Store.open(store, read_only=True) as held:
        farm, sounds = Farm.of(held, settings.places(store)), kept(held)
        with farm.pool(NAMES, 1) as here:
            expected = verdicts(here, sounds)
        with ListeningCluster(farm.spoken, cluster.scheduler_address, NAMES) as there:
            assert (there.names, there.workers) == (tuple(NAMES), 2)
            assert verdicts(there, sounds) == expected


def test_the_keepers_own_words_go_to_the_workers(store, cluster, tmp_path) -> None:
    """They have no folder of this machine: the files travel, and a word that nobody can say is told from there."""
    (tmp_path / "own.jsgf").write_text("#JSGF V1.0; grammar own; public <own> = qxqzk;", encoding="utf-8")
    (tmp_path / "pronunciations.dict").write_text("qxqzk K IH Z Q", encoding="utf-8")
    with Store.open(store, read_only=True) as held:
        farm = Farm(Farm.of(held, settings.places(store)).register, tmp_path)
    with pytest.raises(ListenerMissing, match=r"cannot listen: .*pronunciations\.dict"):
        ListeningCluster(farm.spoken, cluster.scheduler_address, NAMES)


def test_what_a_lost_worker_had_is_heard_by_another(store, cluster) -> None:
    with Store.open(store, read_only=True) as held:
        farm, sounds = Farm.of(held, settings.places(store)), kept(held) * 2
        with ListeningCluster(farm.spoken, cluster.scheduler_address, NAMES) as there:
            told = there.in_order(sounds)
            found = [next(told)]
            os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)
            found += told
    assert [key for key, _, _ in found] == [key for key, _ in sounds]
    assert len({(key, verdict.choices) for key, _, verdict in found}) == len({key for key, _ in sounds})


def test_the_command_hears_there_and_proposes_nothing_new(store, cluster, tmp_path, capsys) -> None:
    again = ["--store", str(store), "rehear", "--json", "--listeners", ",".join(NAMES)]
    there = ["--scheduler", cluster.scheduler_address, "--resume", str(tmp_path / "heard.txt")]
    assert run([*again, *there]) == ExitStatus.OK
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "Nothing was changed" in printed.err
    with Store.open(store, read_only=True) as held:
        assert sorted((tmp_path / "heard.txt").read_text().split()) == sorted(key for key, _ in kept(held))


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nothing://here", "not an address"])
def test_an_address_where_nobody_answers_is_said(store, address, capsys, monkeypatch) -> None:
    monkeypatch.setattr("assistant.listening.cluster.CONNECT_S", 1.0)
    assert run(["--store", str(store), "rehear", "--scheduler", address]) == ExitStatus.FAILED
    told = capsys.readouterr().err
    assert f"No Dask scheduler answers at {address}" in told
    assert "dask scheduler" in told


def test_without_dask_it_is_said_how_to_get_it(store, capsys, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert run(["--store", str(store), "rehear", "--scheduler", "tcp://127.0.0.1:9"]) == ExitStatus.FAILED
    assert "pip install 'handling-assistant[cluster]'" in capsys.readouterr().err


def test_workers_or_a_scheduler_but_not_both(store) -> None:
    asked = ["--store", str(store), "rehear", "--scheduler", "tcp://127.0.0.1:9", "--workers", "2"]
    assert run(asked) == ExitStatus.USAGE


@pytest.mark.parametrize(
    ("other", "told"),
    [
        (Who("p", ("1",), ("vosk", "pocketsphinx"), ()), "listens with vosk, pocketsphinx, others with pocketsphinx"),
        (Who("q", ("1",), ("pocketsphinx",), ()), "another version of this program"),
        (Who("p", ("2",), ("pocketsphinx",), ()), "another version of this program or its libraries"),
    ],
)
def test_nothing_is_taken_from_a_worker_that_listens_otherwise(other, told) -> None:
    with pytest.raises(ListenerMissing, match=told):
        _check_same("tcp://other", other, Who("p", ("1",), ("pocketsphinx",), ()))


def test_a_cluster_that_is_lost_is_said_and_what_was_heard_stays(store, cluster, monkeypatch) -> None:
    """The last test of this file: it takes the workers away, then the scheduler."""
    monkeypatch.setattr("assistant.listening.cluster.ALONE_S", 1.0)
    with Store.open(store, read_only=True) as held:
        farm, sounds = Farm.of(held, settings.places(store)), kept(held) * 3
    found = []
    with ListeningCluster(farm.spoken, cluster.scheduler_address, NAMES) as there:
        told = there.in_order(sounds)
        found.append(next(told))
        cluster.scale(0)
        with pytest.raises(ListenerMissing, match=r"was lost: all its workers are gone.* --resume"):
            found += told
        with pytest.raises(ListenerMissing, match="has no workers"):
            ListeningCluster(farm.spoken, cluster.scheduler_address, NAMES)
        cluster.close()
        with pytest.raises(ListenerMissing, match="was lost"):
            next(there.in_order(sounds))
    assert found[0][0] == sounds[0][0]
