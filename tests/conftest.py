"""What every test stands on: one thread, drawn cases that repeat, no way out."""

import ipaddress
import os
import shutil
import socket
from collections.abc import Iterator
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
os.environ.setdefault("MPLBACKEND", "Agg")

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "gate",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("gate")

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")


def stays_on_this_machine(host: object) -> bool:
    """Say whether a host name or address is the loopback."""
    name = host.decode() if isinstance(host, bytes) else str(host)
    if name in {"localhost", "testserver", "None", ""}:
        return True
    try:
        return ipaddress.ip_address(name.split("%")[0]).is_loopback
    except ValueError:
        return False


def refuse_unless_loopback(address: Any) -> None:
    """Raise when an address leads away from this machine."""
    host = address[0] if isinstance(address, tuple) else None
    if not stays_on_this_machine(host):
        msg = f"a test called out to {host!r}; only the loopback may be used."
        raise PermissionError(msg)


@pytest.fixture(autouse=True, scope="session")
def no_way_out() -> Iterator[None]:
    """Block every socket and name look-up that is not the loopback."""
    connect, connect_ex = socket.socket.connect, socket.socket.connect_ex
    sendto, look_up = socket.socket.sendto, socket.getaddrinfo

    def guarded_connect(self: socket.socket, address: Any) -> None:
        refuse_unless_loopback(address)
        connect(self, address)

    def guarded_connect_ex(self: socket.socket, address: Any) -> int:
        refuse_unless_loopback(address)
        return connect_ex(self, address)

    def guarded_sendto(self: socket.socket, data: Any, *where: Any) -> int:
        refuse_unless_loopback(where[-1])
        return sendto(self, data, *where)

    def guarded_look_up(host: Any, *more: Any, **named: Any) -> Any:
        refuse_unless_loopback((host,))
        return look_up(host, *more, **named)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket.socket, "connect", guarded_connect)
        patch.setattr(socket.socket, "connect_ex", guarded_connect_ex)
        patch.setattr(socket.socket, "sendto", guarded_sendto)
        patch.setattr(socket, "getaddrinfo", guarded_look_up)
        yield


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Return the path of the browser that ``browser`` tests drive."""
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    assert found, f"none of {', '.join(BROWSERS)} is on the PATH; run make setup."
    return found
