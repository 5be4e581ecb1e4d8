"""Under which names the server is reached, by whom, and where a request may come from."""

from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Final

from starlette.datastructures import Headers
from starlette.types import Scope

_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_THIS_MACHINE: Final = frozenset({"127.0.0.1", "::1"})

# The status that turns a request away, and why in plain words.
Refusal = tuple[HTTPStatus, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Knock:
    """What of a request decides whether it may come in.

    Attributes
    ----------
    socket
        Whether a websocket is asked for.
    hosts, origins
        Every header of that name: more than one is nobody's.
    peer
        The address on the other end of the connection.
    """

    socket: bool
    safe: bool
    path: str
    hosts: tuple[str, ...]
    origins: tuple[str, ...]
    peer: str

    @classmethod
    def of(cls, scope: Scope) -> "Knock":
        """Read it from a request."""
        headers, client = Headers(scope=scope), scope.get("client")
        return cls(
            socket=scope["type"] == "websocket",
            safe=scope["type"] == "http" and scope["method"] in _SAFE,
            path=scope["path"],
            hosts=tuple(one.lower() for one in headers.getlist("host")),
            origins=tuple(headers.getlist("origin")),
            peer=client[0] if client else "",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Doors:
    """The names that the server answers to; to any other it says nothing.

    Attributes
    ----------
    people
        For each host, with its port where one is typed, the origin of its pages.
    programs
        The host under which the programs of this machine hand files over.
    own
        The address listened on: a peer of that address is this machine.
    proxy
        The one machine through which people come; empty if they come directly.
    """

    people: Mapping[str, str]
    programs: str
    own: str
    proxy: str = ""

    def origin(self, knock: Knock) -> str:
        """The origin that a request was made to; empty if it is none of ours."""
        return self.people.get(knock.hosts[0], "") if len(knock.hosts) == 1 else ""

    def refusal(self, knock: Knock, *, for_programs: bool) -> Refusal | None:
        """Why a request is turned away before anybody asks who sends it.

        A page elsewhere can have a browser send a request under a name that it made point here,
        and can have it send one from its own origin; the first is told by the host, the second by
        the origin.  A program sends no origin and shows a token instead.

        Parameters
        ----------
        for_programs
            Whether the path is one that only asks for a token.
        """
        if for_programs and self._of_this_machine(knock):
            return None
        if not self.origin(knock):
            return HTTPStatus.MISDIRECTED_REQUEST, "This server does not answer to that name."
        if self.proxy and knock.peer != self.proxy:
            return HTTPStatus.FORBIDDEN, "This server is reached through its proxy only."
        if knock.safe or (for_programs and not knock.origins):
            return None
        if knock.origins != (self.origin(knock),):
            return HTTPStatus.FORBIDDEN, "Only the pages of this server may send that."
        return None

    def _of_this_machine(self, knock: Knock) -> bool:
        near = knock.peer in _THIS_MACHINE or knock.peer == self.own
        return near and knock.hosts == (self.programs,) and not knock.origins
