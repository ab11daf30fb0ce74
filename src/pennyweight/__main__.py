"""Start the program: what the ``pennyweight`` command and ``python -m`` run.

Until the command line is imported, a Ctrl-C ends the process at once: nothing has
been opened yet, and an interrupted import would end in a traceback.
"""

import os
import signal

CANCELLED = 130


def main() -> None:
    """Carry out the call of this process and end it."""
    signal.signal(signal.SIGINT, lambda *_: os._exit(CANCELLED))
    from pennyweight.cli.cli import main as call  # noqa: PLC0415 - see above

    call()


if __name__ == "__main__":
    main()
