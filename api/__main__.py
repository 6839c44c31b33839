"""`python -m api` serves; `ask FILE.json` answers in the terminal, `stock DIR` plans, `fill-table` does a catalogue."""

import logging
import os
import signal
import sys
from collections.abc import Sequence
from typing import NoReturn

from api.http.descriptors import raise_descriptor_limit
from knowledge.errors import FaultyShop, FaultyTables, UnknownRegion


def main(arguments: Sequence[str]) -> int:
    """Run one of the four.

    The exit code is 0, or 1 when the tables of the knowledge cannot be used, 2 when the shop's, the flags or the
    question cannot, 3 when the address cannot be listened on. SIGTERM ends a server of one worker by that signal.
    """
    try:
        # Each is imported where it is needed: an answer in the terminal need not wait for what serves.
        if arguments[:1] == ["fill-table"]:
            from api.fill_table import fill_table

            return fill_table(arguments[1:])
        if arguments[:1] == ["ask"]:
            from api.ask import ask

            return ask(arguments[1:])
        if arguments[:1] == ["stock"]:
            from api.stock import stock

            return stock(arguments[1:])
        serve(arguments)
    except FaultyShop as error:
        print(f"The tables of the shop cannot be used:\n{error}", file=sys.stderr)
        return 2
    except UnknownRegion as error:
        print(f"--region or FILLWRIGHT_REGION: {error}", file=sys.stderr)
        return 2
    except FaultyTables as error:
        print(f"The tables cannot be used:\n{error}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        # The reader of our output, such as `head`, has closed it.
        sys.stderr.close()
        return 0


def serve(flags: Sequence[str]) -> NoReturn:
    """Serve until stopped, and end the process."""
    raise_descriptor_limit()
    if hasattr(signal, "SIGHUP"):
        # The shop is read whenever it is edited, and a server of several workers would start them anew. Blocked before
        # numpy has threads of its own, since those that are started later inherit it, and workers do too.
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGHUP})

    from api.settings import read_settings

    settings = read_settings(flags)
    os.environ.update(settings.environment)

    import uvicorn

    from api.app import create_app
    from api.http.observability import LOG_CONFIG
    from knowledge.assemble import read_knowledge

    # Faulty tables stop the start here; of several workers each builds the application anew, from the environment.
    app = create_app(settings, read_knowledge())
    uvicorn.run(
        app if settings.workers == 1 else "api.app:app",
        host=settings.host,
        port=settings.port,
        workers=settings.workers,
        forwarded_allow_ips=",".join(settings.forwarded_allow_ips),
        timeout_keep_alive=settings.keep_alive,
        timeout_graceful_shutdown=settings.graceful_timeout,
        log_config=LOG_CONFIG,
        access_log=False,
        ws="none",
    )
    # What is still computed is not waited for, as the interpreter would.
    logging.shutdown()
    os._exit(0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
