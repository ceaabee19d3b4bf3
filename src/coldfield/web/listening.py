"""Where the service listens: on a loopback address, or on one that others on the network can reach."""

from __future__ import annotations

import errno
import socket
import ssl
from contextlib import suppress
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path

from coldfield.errors import BadInput, Refused
from coldfield.message import message
from coldfield.records.faults import of_system

PORT = 8457
"""The port on which the service listens by default. Setting."""

_ELSEWHERE = (("192.0.2.1", socket.AF_INET), ("2001:db8::1", socket.AF_INET6))
"""Documentation addresses (RFC 5737, RFC 3849): only the route to them is looked up, nothing is sent."""


@dataclass(frozen=True, slots=True)
class Tls:
    """A certificate with its chain, and its key if that is in a separate file (PEM)."""

    cert: Path
    key: Path | None = None

    def check(self) -> None:
        """Raise `BadInput` if the files cannot be used."""
        for path in (self.cert, self.key):
            if path is not None and not path.is_file():
                raise BadInput(message("fault.no_certificate_file").at(str(path)))
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        try:
            # Otherwise an encrypted key would ask for its password at the terminal.
            context.load_cert_chain(self.cert, self.key, password=lambda: b"")
        except (OSError, ssl.SSLError) as error:
            why = getattr(error, "reason", None) or str(error)
            raise BadInput(message("fault.certificate", why=str(why)).at(str(self.cert))) from None


def resolved(host: str, *, names: bool = True) -> str:
    """Return the IP address of a host name or address.

    Parameters
    ----------
    host : str
        The name or address.
    names : bool
        Whether to look up names other than 'localhost'.

    Raises
    ------
    BadInput
        If there is no such address.
    """
    name = "127.0.0.1" if host == "localhost" else host.strip("[]")
    with suppress(ValueError):
        return str(ip_address(name))
    with suppress(OSError, UnicodeError):
        if name and names:
            return str(socket.getaddrinfo(name, None, type=socket.SOCK_STREAM)[0][4][0])
    raise BadInput(message("fault.no_host_address", host=host).at("--host"))


def is_loopback(host: str) -> bool:
    """Return whether an address is a loopback address; see `resolved`."""
    return ip_address(resolved(host)).is_loopback


def name_of(host: str) -> str:
    """Return a host's name, '' if it is an address.

    Examples
    --------
    >>> name_of("laptop.local"), name_of("[::1]")
    ('laptop.local', '')
    """
    try:
        ip_address(host.strip("[]"))
    except ValueError:
        return host
    return ""


def own_address() -> str:
    """Return the address at which others on the network can most likely reach this machine, or ''."""
    for elsewhere, family in _ELSEWHERE:
        with suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as asking:
            asking.connect((elsewhere, 9))
            return str(asking.getsockname()[0])
    return ""


def listen(host: str, port: int, *, or_any: bool = False, shared: bool = False) -> socket.socket:
    """Return a socket that listens on an address of this machine.

    Parameters
    ----------
    host : str
        A loopback address or 'localhost'; if `shared`, any address or name of this machine.
    port : int
        The port; 0 chooses a free one.
    or_any : bool
        Choose a free port if that one is taken.
    shared : bool
        Whether a passphrase is required.

    Raises
    ------
    Refused
        If others can reach the host and no passphrase is required, or the port is taken.
    BadInput
        If the host has no address.
    """
    name = resolved(host, names=shared)
    if not shared and not ip_address(name).is_loopback:
        raise Refused(message("fault.on_a_network", host=host).at("--host"))
    family = socket.AF_INET6 if ":" in name else socket.AF_INET
    # With TCP named, asyncio sends small answers at once instead of after 40 ms.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((name, port))
    except OSError as error:
        listener.close()
        if or_any and port and error.errno in (errno.EADDRINUSE, errno.EACCES):
            return listen(host, 0, shared=shared)
        said = message("fault.port_taken", port=str(port), host=host, why=of_system(error))
        raise Refused(said) from None
    listener.listen(128)
    return listener


def address(listener: socket.socket, *, name: str = "", secret: bool = False) -> str:
    """Return the address to open, such as ``http://127.0.0.1:8457/``.

    Parameters
    ----------
    listener : socket
        From `listen`.
    name : str
        A host name to use instead of the address.
    secret : bool
        Whether TLS is used.
    """
    host, port = listener.getsockname()[:2]
    if ip_address(host).is_unspecified:
        host = own_address() or host
    shown = name or (f"[{host}]" if ":" in host else host)
    return f"http{'s' if secret else ''}://{shown}:{port}/"
