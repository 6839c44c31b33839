"""`python -m api` serves; `python -m api ask FILE.json` answers in the terminal."""

import os
import signal
import sys
from collections.abc import Sequence

from api.ask import ask
from api.settings import read_settings
from knowledge.errors import FaultyShop, FaultyTables


def main(arguments: Sequence[str]) -> int:
    """Run one of the two.

    The exit code is 0, or 1 when the tables of the knowledge cannot be used, 2 when the shop's or the question cannot,
    3 when the address cannot be listened on.
    """
    try:
        return ask(arguments[1:]) if arguments[:1] == ["ask"] else serve(arguments)
    except FaultyShop as error:
        print(f"The tables of the shop cannot be used:\n{error}", file=sys.stderr)
        return 2
    except FaultyTables as error:
        print(f"The tables cannot be used:\n{error}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        # Whoever read our output, such as `head`, has had enough of it.
        sys.stderr.close()
        return 0


def serve(flags: Sequence[str]) -> int:
    """Serve until stopped."""
    settings = read_settings(flags)
    # Imported here: an answer in the terminal need not wait for a web framework.
    from api.app import create_app
    from api.serving import run
    from knowledge.assemble import read_knowledge

    # Faulty tables stop the start here, however many workers there are.
    app = create_app(settings, read_knowledge())
    # The server raises the signal that stopped it once more when it has ended; it did what it was told.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    os.environ.update(settings.environment)
    run(app, settings)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
