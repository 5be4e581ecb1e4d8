"""The cookie that carries a session's key, and nothing else."""

from dataclasses import dataclass
from typing import Final

from starlette.requests import HTTPConnection
from starlette.responses import Response

_LONGEST_S: Final = 12 * 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Cookie:
    """Name and kind of the cookie.

    Attributes
    ----------
    name
        Browsers keep cookies by host, not by port: two servers on one machine need two names.
    secure
        Whether it is sent over TLS only.
    """

    name: str
    secure: bool

    def read(self, connection: HTTPConnection) -> str | None:
        """The session's key, as a browser sent it."""
        return connection.cookies.get(self.name) or None

    def put(self, response: Response, key: str) -> None:
        """Have the browser keep a session's key, out of reach of scripts and of other sites."""
        response.set_cookie(
            self.name,
            key,
            max_age=_LONGEST_S,
            httponly=True,
            secure=self.secure,
            samesite="lax",
        )

    def drop(self, response: Response) -> None:
        """Have the browser forget it."""
        response.delete_cookie(self.name, httponly=True, secure=self.secure, samesite="lax")
