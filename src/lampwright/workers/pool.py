"""A pool of worker processes that stops at once with the program."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import resource_tracker
from multiprocessing.queues import Queue
from queue import Empty
from types import TracebackType
from typing import ParamSpec, Self, TypeVar

Given = ParamSpec("Given")
Result = TypeVar("Result")


class Workers:
    """Processes to which work is handed; leaving the ``with`` block by an error ends them at once."""

    def __init__(self, count: int) -> None:
        # "spawn" on every system: the same behaviour everywhere, and no half-copied threads
        context = multiprocessing.get_context("spawn")
        self._steps: Queue[int] = context.Queue()
        self._pool = ProcessPoolExecutor(count, context, _begin, (self._steps,))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if error is not None:
            self._stop()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def submit(self, work: Callable[Given, Result], /, *arguments: Given.args, **named: Given.kwargs) -> Future[Result]:
        """Hand over a call of a function that stands in a module; a free worker takes it."""
        with _interrupts_held():
            return self._pool.submit(work, *arguments, **named)

    def steps(self, patience: float) -> int:
        """Return the steps of one :func:`report`, 0 when none comes within ``patience`` seconds."""
        try:
            return self._steps.get(timeout=patience)
        except Empty:
            return 0

    def _stop(self) -> None:
        """End the workers: one in the midst of long work would otherwise keep the maker waiting."""
        for process in multiprocessing.active_children():
            if process in (self._pool._processes or {}).values():
                process.terminate()


def report(steps: int) -> None:
    """Tell the program, from within a worker, that so many steps of its work are done."""
    if _Worker.steps is not None:
        _Worker.steps.put(steps)


def is_worker() -> bool:
    """Return whether this process is a worker: what it does is shared out already, and it starts no workers itself."""
    return _Worker.steps is not None


class _Worker:
    """What a worker process knows of the program."""

    steps: Queue[int] | None = None


def _begin(steps: Queue[int]) -> None:
    """Make this process a worker."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    steps.cancel_join_thread()  # steps that nobody reads any more must not keep the worker alive
    _Worker.steps = steps
    threading.Thread(target=_end_with_the_program, daemon=True).start()


def _end_with_the_program() -> None:
    """End this process when the program is killed; workers would otherwise wait for it for ever."""
    program = multiprocessing.parent_process()
    if program is not None:
        program.join()
        os._exit(1)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Hold Ctrl-C back while a process is started.

    The new process inherits that and never sees it, not even before its first line runs, where it would
    answer with a traceback. A Ctrl-C in this time reaches the program right afterwards.
    """
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    resource_tracker.ensure_running()  # started later, it would let Ctrl-C through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
