"""Where a job is served: the socket, the address as it is told, and the same as a square code for a camera."""

from __future__ import annotations

import errno
import io
import ipaddress
import socket
from dataclasses import dataclass

from guide.problems import Problem, ProblemError

PORT = 8440
LOOPBACK = "127.0.0.1"
NOWHERE = "192.0.2.1"
"""An address that nobody has (RFC 5737): asking the way to it tells our own address, and sends nothing."""


@dataclass(frozen=True, slots=True)
class Address:
    """Where pages come from. `hosts` is what a browser may call it, `origins` where its pages may come from."""

    host: str
    port: int
    secure: bool

    @property
    def url(self) -> str:
        """As it is told, without a code."""
        return f"{'https' if self.secure else 'http'}://{_written(self.host)}:{self.port}/"

    @property
    def hosts(self) -> frozenset[str]:
        """What a request's Host may be; anything else came by a name that somebody made up."""
        names = [_written(self.host), *(["localhost"] if self.host == LOOPBACK else [])]
        usual = 443 if self.secure else 80
        return frozenset(f"{name}:{self.port}" for name in names) | frozenset(
            name for name in names if self.port == usual
        )

    @property
    def origins(self) -> frozenset[str]:
        """What a request's Origin may be."""
        return frozenset(f"{'https' if self.secure else 'http'}://{host}" for host in self.hosts)

    def with_code(self, code: str) -> str:
        """With a code behind the #, which a browser keeps to itself."""
        return f"{self.url}#{code}"


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens at one address; raises `ProblemError`. Port 0 takes a free one."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
        made.listen(16)
    except (OSError, OverflowError) as fault:
        made.close()
        raise _problem(host, port, fault) from None
    made.setblocking(False)
    return made


def _problem(host: str, port: int, fault: OSError | OverflowError) -> ProblemError:
    code = getattr(fault, "errno", None)
    if code == errno.EADDRINUSE:
        return ProblemError(
            [Problem("port-taken", f"port {port} is taken already", hint="Name another with --port, or 0 for any.")]
        )
    if code == errno.EADDRNOTAVAIL:
        return ProblemError(
            [Problem("address", f"{host} is no address of this machine", hint="Name one of its own, or none.")]
        )
    return ProblemError([Problem("port", f"{host}, port {port}: {fault}", hint="Name a port from 1024 to 65535.")])


def own_address(named: str = "") -> str:
    """This machine's address on the local network, or the one that was named; raises `ProblemError`."""
    if named:
        try:
            return str(ipaddress.ip_address(named))
        except ValueError:
            raise ProblemError(
                [Problem("address", f'"{named}" is no address', hint="One such as 192.168.1.20.")]
            ) from None
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect((NOWHERE, 9))
            found = str(asking.getsockname()[0])
        except OSError:
            found = ""
    if not found or ipaddress.ip_address(found).is_loopback:
        message = "this machine is on no network"
        raise ProblemError([Problem("no-network", message, hint="Join one, or name the address: --lan ADDRESS.")])
    return found


def square(text: str) -> str:
    """The text as a QR code in half blocks, for a terminal; empty without the package. Dark on light."""
    try:
        import segno
    except ImportError:
        return ""
    out = io.StringIO()
    segno.make_qr(text, error="m").terminal(out, compact=True)
    return out.getvalue()


def _written(host: str) -> str:
    return f"[{host}]" if ":" in host else host
