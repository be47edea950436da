"""Where a job is served: free ports, taken ones, addresses that are ours, names that are not, the square code."""

from __future__ import annotations

import socket

import pytest

from guide.problems import ProblemError
from guide.screen.page.address import LOOPBACK, Address, listening, own_address, square


def test_an_address_knows_what_it_may_be_called() -> None:
    here = Address(LOOPBACK, 8440, False)
    assert here.url == "http://127.0.0.1:8440/" and here.with_code("ABC") == "http://127.0.0.1:8440/#ABC"
    assert here.hosts == {"127.0.0.1:8440", "localhost:8440"}
    assert here.origins == {"http://127.0.0.1:8440", "http://localhost:8440"}
    there = Address("192.168.1.20", 443, True)
    assert there.hosts == {"192.168.1.20:443", "192.168.1.20"}
    assert there.origins == {"https://192.168.1.20:443", "https://192.168.1.20"}
    assert Address("fd00::1", 8440, True).url == "https://[fd00::1]:8440/"


def test_a_free_port_is_taken_and_a_taken_one_is_said() -> None:
    one = listening(LOOPBACK, 0)
    port = one.getsockname()[1]
    with pytest.raises(ProblemError, match="taken already") as fault:
        listening(LOOPBACK, port)
    assert fault.value.problems[0].code == "port-taken" and "--port" in (fault.value.problems[0].hint or "")
    one.close()


@pytest.mark.parametrize(
    ("host", "port", "code"), [("192.0.2.7", 0, "address"), (LOOPBACK, 70_000, "port"), (LOOPBACK, -1, "port")]
)
def test_what_cannot_be_listened_at_is_said(host: str, port: int, code: str) -> None:
    with pytest.raises(ProblemError) as fault:
        listening(host, port)
    assert fault.value.problems[0].code == code


def test_an_address_that_is_named_is_taken_and_no_network_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    assert own_address("192.168.1.20") == "192.168.1.20"
    with pytest.raises(ProblemError, match="is no address"):
        own_address("tablet")

    class NoWay(socket.socket):
        def connect(self, address: object) -> None:
            raise OSError("no route")

    monkeypatch.setattr(socket, "socket", NoWay)
    with pytest.raises(ProblemError, match="on no network"):
        own_address()


def test_the_square_code_is_of_half_blocks_and_has_a_quiet_zone() -> None:
    drawn = square("https://192.168.1.20:8440/#ABCDEFGH")
    assert drawn and set("▀▄█ ") & set(drawn)
    assert len(drawn.splitlines()) > 14
