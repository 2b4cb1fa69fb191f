"""How many cores there are, and when a fork is safe."""

import os
import sys
import threading

import pytest

from combo.cores import cores, may_fork


@pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="cannot be told there")
def test_only_cores_that_this_process_may_use_are_counted():
    before = os.sched_getaffinity(0)
    try:
        os.sched_setaffinity(0, {min(before)})
        assert cores() == 1
    finally:
        os.sched_setaffinity(0, before)


def test_nothing_is_forked_beside_another_thread():
    done = threading.Event()
    thread = threading.Thread(target=done.wait)
    thread.start()
    try:
        assert not may_fork()
    finally:
        done.set()
        thread.join()


@pytest.mark.parametrize("system", ["darwin", "win32"])
def test_nothing_is_forked_where_its_libraries_forbid_it(monkeypatch, system):
    monkeypatch.setattr(sys, "platform", system)
    assert not may_fork()
