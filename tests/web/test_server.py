"""The door is opened on this machine only, and says plainly when it cannot be."""

from pathlib import Path

import pytest

from pennyweight.errors import CallError
from pennyweight.web.server import LOOPBACK, listen, serve


@pytest.mark.parametrize("port", [None, 0])
def test_a_free_port_of_this_machine_is_taken(port: int | None) -> None:
    with listen(port) as door:
        address, number = door.getsockname()
        assert address == LOOPBACK
        assert number > 0


def test_a_port_that_is_taken_is_named() -> None:
    with listen(None) as door:
        door.listen()
        number = door.getsockname()[1]
        with pytest.raises(CallError, match=str(number)):
            listen(number)


def test_a_port_that_cannot_be_is_named() -> None:
    with pytest.raises(CallError, match="70000"):
        listen(70_000)


def test_a_missing_book_is_named(tmp_path: Path) -> None:
    with pytest.raises(CallError, match=r"absent\.book"):
        serve(tmp_path / "absent.book", port=None, open_browser=False)
