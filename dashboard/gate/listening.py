"""Where the server listens: this machine, unless people sign in and nobody can listen along."""

import ipaddress
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import SplitResult, urlsplit

from dashboard.gate.cookie import Cookie
from dashboard.gate.doors import Doors
from spc.errors import ServerRefused

LOOPBACK: Final = "127.0.0.1"
_ANY: Final = frozenset({"0.0.0.0", "::"})  # noqa: S104 - told apart, not listened on
_PORTS: Final = {"http": 80, "https": 443}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """How people reach a server beyond its machine.

    Attributes
    ----------
    at
        What they type, such as ``https://lots.example.com``; empty on one's own machine.
    certificate, key
        Of TLS that ends here.
    proxy
        Or the address of the one machine where it ends, and through which all people come.
    """

    at: str = ""
    certificate: Path | None = None
    key: Path | None = None
    proxy: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listening:
    """Address and port that are listened on, and the names that follow from them."""

    address: str = LOOPBACK
    port: int
    reached: Reached = Reached()

    @property
    def base(self) -> str:
        """Origin of the pages, as it is announced."""
        return origin_of(self.reached.at) if self.reached.at else f"http://{self._here}"

    @property
    def near(self) -> str:
        """The address by which the programs of this machine reach it."""
        return LOOPBACK if self.address in _ANY else self.address

    @property
    def doors(self) -> Doors:
        """The names that it answers to."""
        names = {self.base} if self.reached.at else {self.base, f"http://localhost:{self.port}"}
        return Doors(
            people={urlsplit(one).netloc: one for one in names},
            programs=self._here,
            own=self.near,
            proxy=self.reached.proxy,
        )

    @property
    def cookie(self) -> Cookie:
        """The session's cookie; browsers keep it by host, so the port is in its name."""
        secure = self.base.startswith("https://")
        return Cookie(name="__Host-lotheat" if secure else f"lotheat-{self.port}", secure=secure)

    @property
    def _here(self) -> str:
        near = f"[{self.near}]" if ":" in self.near else self.near
        return f"{near}:{self.port}"


def permitted(listening: Listening, *, people_sign_in: bool) -> Listening:
    """The same, if it may be listened there.

    Raises
    ------
    ServerRefused
        If others could reach it although nobody signs in, or what they send could be read.
    """
    where, reached = f"{listening.address}:{listening.port}", listening.reached
    if not people_sign_in:
        if not is_loopback(listening.address):
            raise ServerRefused(
                "nobody signs in to this server, so it listens on this machine only: whoever"
                " reached it could read and sign everything as you.",
                where=where,
                remedy="Set up how people sign in with `lotheat serve --sign-in FILE`, or leave"
                " out --address.",
            )
        return listening
    _check_files(reached)
    if is_loopback(listening.address) and not reached.at:
        return listening
    if not (reached.certificate or reached.proxy):
        raise ServerRefused(
            "secrets and decisions would cross the network where anybody can read them.",
            where=where,
            remedy="Name certificate and key under [reached] for TLS here, or as proxy the address"
            " of the machine where TLS ends.",
        )
    if not origin_of(reached.at).startswith("https://"):
        raise ServerRefused(
            f"{reached.at!r} is not the https:// address that people type.",
            where=where,
            remedy='Write it under [reached], such as at = "https://lots.example.com".',
        )
    return listening


def is_loopback(host: str | None) -> bool:
    """Whether only this machine reaches that host."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host or "").is_loopback
    except ValueError:
        return False


def origin_of(address: str) -> str:
    """Scheme, host and port as browsers write them; empty if it is no address of a server."""
    try:
        parts = urlsplit(address)
        port = parts.port
    except ValueError:
        return ""
    if parts.scheme not in _PORTS or not parts.hostname or _more_than_a_host(parts):
        return ""
    host = f"[{parts.hostname}]" if ":" in parts.hostname else parts.hostname
    told = "" if port in {None, _PORTS[parts.scheme]} else f":{port}"
    return f"{parts.scheme}://{host}{told}"


def _more_than_a_host(parts: SplitResult) -> bool:
    return bool(parts.path.strip("/") or parts.query or parts.fragment or parts.username)


def _check_files(reached: Reached) -> None:
    if (reached.certificate is None) != (reached.key is None):
        raise ServerRefused(
            "certificate and key belong together, and one is missing.",
            remedy="Name both under [reached], or neither.",
        )
    for file in filter(None, (reached.certificate, reached.key)):
        if not file.is_file():
            raise ServerRefused("there is no such file.", where=str(file), remedy="Check the path.")
