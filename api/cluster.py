"""The rows of a catalogue answered on a Dask cluster: the extra `cluster`, on the workers' machines too."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from api.table_files import CannotFill
from api.table_work import PARTS_AHEAD, Filled, Work, Workers, answer

CONNECT_WITHIN = "20s"


@contextmanager
def cluster(scheduler: str) -> Iterator[Workers]:
    """The workers of a scheduler; Dask gives what a lost one had to another, and each result is taken once.

    Errors: CannotFill, when Dask is not installed or nobody answers at the address.
    """
    try:
        from dask.distributed import Client
        from distributed import CancelledError, KilledWorker
    except ImportError:
        raise CannotFill("--scheduler needs Dask: pip install '.[cluster]'") from None
    try:
        client = Client(scheduler, timeout=CONNECT_WITHIN, set_as_default=False)
    except (OSError, ValueError) as error:
        raise CannotFill(f"--scheduler {scheduler}: {error}") from None

    def submit(work: Work) -> Callable[[], Filled]:
        future = client.submit(answer, work, pure=False)

        def result() -> Filled:
            try:
                found: Filled = future.result()
                return found
            except (CancelledError, KilledWorker) as error:
                raise OSError(f"the cluster lost the work: {error}") from None

        return result

    with client:
        yield Workers(submit, PARTS_AHEAD * max(4, sum(client.nthreads().values())))
