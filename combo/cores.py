"""The cores of this machine, and whether work may be shared among them by forks."""

from __future__ import annotations

import os
import sys
import threading


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def may_fork() -> bool:
    """Whether a fork is safe here: where no other thread runs that may hold a lock at that moment, and not on macOS,
    whose own libraries forbid it.
    """
    return sys.platform == "linux" and threading.active_count() == 1


def spare_cores() -> int:
    """Cores beside this process's own that it may give to forks of itself: none where a fork is not safe, or where this
    is itself one of several processes that share the cores.
    """
    from multiprocessing import process  # takes a while to load, and few commands come here

    return cores() - 1 if may_fork() and not process.current_process().daemon else 0


def has_company() -> bool:
    """Whether this process has other threads, or children that it has not waited for."""
    processes = sys.modules.get("multiprocessing")
    return threading.active_count() > 1 or bool(processes and processes.active_children())
