"""Heavy or risky work in helper processes: decoding what strangers sent, printing, charts.

Helpers are spawned, never forked (a web worker has threads), limited in memory and processor time, and know
nothing of Django unless the function they run asks for it. Each slot is a pool of one process: a helper that
dies or is stopped takes only its own piece of work with it.
"""

import contextlib
import importlib
import multiprocessing
import multiprocessing.connection
import os
import queue
import resource
import signal
import threading
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as TooLate
from concurrent.futures.process import BrokenProcessPool
from typing import Any

SLOTS = 2
MEMORY_BYTES = 1536 * 1024 * 1024
FILE_BYTES = 256 * 1024 * 1024
WAIT_FOR_SLOT_S = 30


class PressFailed(Exception):
    """The helper died, ran out of memory or took too long; the text is a sentence for the person waiting."""


class PressBusy(PressFailed):
    """No helper was free in time. Nothing was tried, so the same work may be sent again."""


def run(work: Callable[..., Any] | str, *args: Any, timeout: float = 30) -> Any:
    """What `work(*args)` returns, run in a helper. `work` is a module's function, or "package.module:function".

    Arguments, result and whatever it raises travel between processes, so they have to be picklable; its own
    exceptions arrive as they were raised. PressFailed when the helper did not live to answer within `timeout`
    seconds, which are seconds of the clock and of the processor alike.
    """
    path = work if isinstance(work, str) else f"{work.__module__}:{work.__qualname__}"
    slots = _slots()
    try:
        slot = slots.get(timeout=WAIT_FOR_SLOT_S)
    except queue.Empty:
        raise PressBusy("Too much is being worked on at once. Try again in a moment.") from None
    try:
        return slot.run(path, args, timeout)
    finally:
        slots.put(slot)


class _Slot:
    """A place for one helper, started when first needed and again after it died."""

    def __init__(self) -> None:
        self.pool: ProcessPoolExecutor | None = None

    def run(self, path: str, args: tuple, timeout: float) -> Any:
        try:
            return self._submit(path, args, timeout).result(timeout=timeout)
        except TooLate:
            self._stop()
            raise PressFailed("This took too long and was stopped.") from None
        except BrokenProcessPool:
            self._stop()
            raise PressFailed("The program that works on this stopped halfway.") from None
        except MemoryError:
            self._stop()
            raise PressFailed("This needs more memory than it may have.") from None

    def _submit(self, path: str, args: tuple, timeout: float) -> "Future[Any]":
        if self.pool is not None:
            try:
                return self.pool.submit(_work, path, args, timeout)
            except BrokenProcessPool:
                # It died while it had nothing to do; this piece of work is not to blame.
                self._stop()
        self.pool = ProcessPoolExecutor(
            max_workers=1, mp_context=multiprocessing.get_context("spawn"), initializer=_settle_in
        )
        return self.pool.submit(_work, path, args, timeout)

    def _stop(self) -> None:
        pool, self.pool = self.pool, None
        for process in list((pool._processes or {}).values()):
            process.kill()
        pool.shutdown(wait=False, cancel_futures=True)


_own: queue.LifoQueue[_Slot] | None = None
_owner = 0
_making = threading.Lock()


def _slots() -> "queue.LifoQueue[_Slot]":
    """This process's slots. A forked child makes its own: the pipes it inherited belong to its parent.

    Last in, first out: one warm helper is enough for a shop where seldom two photos come at once.
    """
    global _own, _owner
    with _making:
        if _own is None or _owner != os.getpid():
            _own, _owner = queue.LifoQueue(), os.getpid()
            for _ in range(SLOTS):
                _own.put(_Slot())
    return _own


def _settle_in() -> None:
    """First thing in a new helper: limits, no core file, and no life beyond that of its parent."""
    # Ctrl-C reaches the whole group; the parent decides when its helpers stop.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_FSIZE, (FILE_BYTES, FILE_BYTES))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    # Threads of number libraries reserve address space for nothing on pictures this small.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    threading.Thread(target=_leave_with_parent, daemon=True).start()


def _leave_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(1)


def _work(path: str, args: tuple, seconds: float) -> Any:
    """Run one piece of work. The processor limit counts from now: a helper lives through many pieces."""
    spent = resource.getrusage(resource.RUSAGE_SELF)
    limit = int(spent.ru_utime + spent.ru_stime + seconds) + 1
    with contextlib.suppress(ValueError):
        resource.setrlimit(resource.RLIMIT_CPU, (limit, resource.getrlimit(resource.RLIMIT_CPU)[1]))
    module, _, name = path.partition(":")
    return getattr(importlib.import_module(module), name)(*args)
