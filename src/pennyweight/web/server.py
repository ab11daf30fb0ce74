"""Open the page: on this machine only, on a port that is free."""

from __future__ import annotations

import socket
import sys
import threading
import webbrowser
from pathlib import Path

import uvicorn

from pennyweight.errors import CallError
from pennyweight.web.app import make_app

LOOPBACK = "127.0.0.1"

#: How long open pages may finish when the program is stopped [s].
LAST_WORDS_S = 2


def listen(port: int | None) -> socket.socket:
    """Return a socket that listens on this machine only.

    Raises
    ------
    CallError
        The port is taken or may not be used.
    """
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform != "win32":
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((LOOPBACK, port or 0))
    except (OSError, OverflowError) as error:
        door.close()
        msg = f"port {port} cannot be used ({error}). Name another one, or none."
        raise CallError(msg) from error
    return door


def serve(book: Path | None, *, port: int | None = None, open_browser: bool) -> None:
    """Show the page until the program is stopped.

    Parameters
    ----------
    book : Path or None
        The one book to show; None shows the folder of books.
    port : int or None
        Port to listen on [-]; None or 0 takes one that is free.
    open_browser : bool
        Whether to open the address in the user's browser.

    Raises
    ------
    CallError
        The book is missing, or the port cannot be used.
    """
    if book is not None and not book.is_file():
        msg = f"There is no book at {book}. Make one with: pennyweight new {book}"
        raise CallError(msg)
    door = listen(port)
    address = f"http://{LOOPBACK}:{door.getsockname()[1]}/"
    print(f"pennyweight is open at {address}", flush=True)  # noqa: T201
    print("Only this machine can reach it. Stop with Ctrl-C.", flush=True)  # noqa: T201
    config = uvicorn.Config(
        make_app(only=book),
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=LAST_WORDS_S,
    )
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [address]).start()
    uvicorn.Server(config).run(sockets=[door])
