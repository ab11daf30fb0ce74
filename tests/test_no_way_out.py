"""Tests may talk to this machine and to nothing else."""

import socket

import pytest


def test_calling_out_is_refused_with_the_address() -> None:
    with (
        socket.socket() as caller,
        pytest.raises(PermissionError, match=r"192\.0\.2\.7"),
    ):
        caller.connect(("192.0.2.7", 80))


def test_looking_up_a_name_is_refused() -> None:
    with pytest.raises(PermissionError, match=r"ground\.example"):
        socket.getaddrinfo("ground.example", 443)


def test_sending_a_datagram_out_is_refused() -> None:
    with (
        socket.socket(type=socket.SOCK_DGRAM) as caller,
        pytest.raises(PermissionError, match=r"192\.0\.2\.7"),
    ):
        caller.sendto(b"gold", ("192.0.2.7", 53))


def test_the_loopback_stays_open() -> None:
    with socket.create_server(("127.0.0.1", 0)) as door:
        address = door.getsockname()
        with socket.create_connection(address, timeout=5) as caller:
            assert caller.getpeername() == address
