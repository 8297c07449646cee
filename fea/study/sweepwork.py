# SPDX-License-Identifier: MIT
"""Where the designs of a sweep are judged: here, in processes, or on other machines.

All of it goes through the standard `concurrent.futures.Executor`, one task a design.
"""

import copyreg
import importlib
import multiprocessing
import os
import re
import signal
import threading
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, ParamSpec, TypeVar

from fea.assessment import Assessment, assess
from fea.check.requirements import read_requirements
from fea.errors import InputError, MissingExtraError, SolveError, StanchionError
from fea.study.parameter import Design, Value
from fea.study.sweeprow import Cell, failed_row, row_of

P = ParamSpec("P")
T = TypeVar("T")


def _table(content: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(content)


# Libraries and other tables are read-only mappings, which pickle does not know by itself.
copyreg.pickle(MappingProxyType, lambda table: (_table, (dict(table),)))

GUARD = 'if __name__ == "__main__":'
"""What a script needs whose processes start Python anew, and with it the script."""

_here = threading.local()  # the assessment that this worker made last


@dataclass(frozen=True, eq=False)
class Task:
    """One design to judge.

    Attributes:
        number: of the design, from 1.
        base: design, before `values` are set.
        how: keyword arguments of `assess`, but that `requirements` names a file or is None.
        reuse: whether structures of the design that this worker judged last may serve.
    """

    number: int
    base: Design
    values: Mapping[str, Value]
    how: Mapping[str, Any]
    reuse: bool = True


def judge_design(task: Task) -> dict[str, Cell]:
    """The row of one design; a failure is a row with its reason.

    Runs in a worker. What it keeps of the last design only saves time: rows are the same without.
    """
    started = time.perf_counter()
    last: Assessment | None = getattr(_here, "last", None) if task.reuse else None
    try:
        result = _assess(task, last)
        row = row_of(result)
        if task.reuse:
            _here.last = result
    except StanchionError as error:
        row = failed_row(" ".join(str(error).split()))
    except Exception as error:  # one design must not end the sweep
        row = failed_row(f"a mistake of this program: {type(error).__name__}: {error}")
    return {"design": task.number, **row, "seconds": round(time.perf_counter() - started, 3)}


def forget() -> None:
    """Let go of what this process keeps of the last design."""
    _here.last = None


def _assess(task: Task, last: Assessment | None) -> Assessment:
    design = task.base.changed(task.values)
    requirements = read_requirements(task.how["requirements"], adult=design.wearer.is_adult)
    start = last.run.worn if last is not None else ()
    return assess(design.device_as_changed(), design.wearer, loads=design.loads, start=start,
                  **{**task.how, "requirements": requirements})  # fmt: skip


def judged(executor: Executor, ahead: int, tasks: Iterable[Task]) -> Iterator[dict[str, Cell]]:
    """Rows as they come, never more than ``ahead`` tasks handed over.

    Raises:
        SolveError: the executor itself failed, such as a worker that ran out of memory, or one
            that a script without its ``if __name__ == "__main__":`` cannot start.
    """
    waiting: set[Future[dict[str, Cell]]] = set()
    try:
        for task in tasks:
            waiting.add(executor.submit(judge_design, task))
            if len(waiting) >= ahead:
                waiting = yield from _first(waiting)
        while waiting:
            waiting = yield from _first(waiting)
    except StanchionError:
        raise
    except Exception as error:
        script = f". In a script, put the call under {GUARD}"
        raise SolveError(
            f"the workers failed ({type(error).__name__}: {error}), mostly for want of memory; "
            "what was finished is kept: go on with fewer workers or coarser cells"
            f"{script if isinstance(error, BrokenExecutor) else ''}"
        ) from error
    finally:
        for future in waiting:
            future.cancel()


def _first(
    waiting: set[Future[dict[str, Cell]]],
) -> Generator[dict[str, Cell], None, set[Future[dict[str, Cell]]]]:
    done, left = wait(waiting, return_when=FIRST_COMPLETED)
    for future in sorted(done, key=lambda each: each.exception() is not None):
        yield future.result()
    return left


def require_workers(address: str | None, count: int | None) -> None:
    """Refuse workers that cannot be, before anything is begun.

    Args:
        address, count: see `workers_on`.

    Raises:
        InputError: both are given, the number is below 1, or this process is itself a worker that
            only runs the script again that began it.
    """
    # The mark that Python itself goes by while a new process imports the script of its parent.
    if getattr(multiprocessing.current_process(), "_inheriting", False):
        raise InputError(f"each worker runs this script again: put the call under {GUARD}")
    if count is not None and count < 1:
        raise InputError(f"{count} workers cannot work; for workers (--workers) give 1 or more, or "
                         "leave it out for one a processor")  # fmt: skip
    if address is not None and count is not None:
        raise InputError("the scheduler knows its workers: leave out their number (workers, "
                         "--workers), or the address")  # fmt: skip


@contextmanager
def workers_on(address: str | None, count: int | None) -> Iterator[tuple[Executor, int]]:
    """An executor, and how many designs it judges at a time.

    Args:
        address: of a Dask scheduler, such as "tcp://10.0.0.5:8786"; None for this machine.
        count: of processes on this machine; None for one a processor, 1 for none but this one.

    Raises:
        MissingExtraError: an address is given and Dask is not installed.
        InputError: no scheduler answers there, or see `require_workers`.
    """
    require_workers(address, count)
    if address is None:
        with _processes(count or processors()) as (executor, number):
            yield executor, number
        return
    with _dask_client(address) as client:
        number = sum(client.nthreads().values())
        if not number:
            raise InputError(f"the scheduler at {address} has no worker; start some")
        yield client.get_executor(pure=False), number


@contextmanager
def _processes(count: int) -> Iterator[tuple[Executor, int]]:
    if count == 1:
        yield Here(), 1
        return
    context, others = multiprocessing.get_context("spawn"), multiprocessing.active_children()
    with _one_thread_each():
        pool = ProcessPoolExecutor(count, mp_context=context, initializer=_begin_worker)
        try:
            yield pool, count
        except BaseException:  # who stops a sweep does not wait for the designs in work
            for child in multiprocessing.active_children():
                if child not in others:
                    child.terminate()
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _dask_client(address: str) -> Iterator[Any]:
    try:
        distributed = importlib.import_module("distributed")
    except ImportError:
        raise MissingExtraError('Dask is not installed; pip install "stanchion[many]", or leave '
                                "out the address") from None  # fmt: skip
    if not re.fullmatch(r"(\w+://)?\S+:\d+", address):
        raise InputError(f"'{address}' is no address of a scheduler; give host and port, as in "
                         "tcp://10.0.0.5:8786")  # fmt: skip
    try:
        client = distributed.Client(address, timeout=10, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(f"no scheduler answers at '{address}' ({error}); start one, or leave out "
                         "the address to work on this machine") from None  # fmt: skip
    try:
        yield client
    finally:
        client.close()


class Here(Executor):
    """An executor that does the work at once, in this process."""

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Do it and return what came of it."""
        future: Future[T] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


def processors() -> int:
    """Number of processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Linear algebra in one thread a process: the processes share out the processors already."""
    name = "OMP_NUM_THREADS"
    before = os.environ.get(name)
    os.environ.setdefault(name, "1")
    try:
        yield
    finally:
        if before is None:
            os.environ.pop(name, None)


def _begin_worker() -> None:
    """Leave it to the parent to be interrupted, and end when it is gone, killed or not."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
