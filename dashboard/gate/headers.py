"""Headers of every answer: what a page may load and run, and who may frame it."""

import base64
import hashlib
from html.parser import HTMLParser
from pathlib import Path
from typing import Final

import streamlit

_FRAMED: Final = frozenset({"/sign"})
_FRONT_PAGE: Final = Path(streamlit.__file__).parent / "static" / "index.html"


class _InlineScripts(HTMLParser):
    """Collects the scripts that stand in a page itself."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag == "script" and "src" not in dict(attrs)
        if self._inside:
            self.found.append("")

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.found[-1] += data

    def handle_endtag(self, tag: str) -> None:
        self._inside = self._inside and tag != "script"


def inline_hashes(page: str) -> tuple[str, ...]:
    """Sources that allow exactly the scripts standing in a page, and no others."""
    scripts = _InlineScripts()
    scripts.feed(page)
    return tuple(f"'sha256-{_digest(text)}'" for text in scripts.found)


class Headers:
    """What is added to every answer.

    Parameters
    ----------
    front_page
        The one page that carries scripts; the front end's own, unless told otherwise.
    """

    def __init__(self, front_page: str | None = None) -> None:
        page = _FRONT_PAGE.read_text(encoding="utf-8") if front_page is None else front_page
        self._scripts = " ".join(("'self'", *inline_hashes(page)))

    def of(self, path: str, origin: str) -> list[tuple[bytes, bytes]]:
        """Headers of the answer to one path, asked of one of the server's origins."""
        framed = path in _FRAMED
        told = {
            "content-security-policy": self._policy(origin, framed=framed),
            "x-frame-options": "SAMEORIGIN" if framed else "DENY",
            "x-content-type-options": "nosniff",
            "referrer-policy": "same-origin",
            "cross-origin-resource-policy": "same-origin",
        }
        return [(name.encode(), value.encode()) for name, value in told.items()]

    def _policy(self, origin: str, *, framed: bool) -> str:
        # Not every browser reads 'self' as also the websocket of the same host.
        socket = origin.replace("http", "ws", 1)
        return "; ".join(
            (
                "default-src 'self'",
                f"script-src {self._scripts}",
                "style-src 'self' 'unsafe-inline'",
                "img-src 'self' data: blob:",
                "font-src 'self' data:",
                f"connect-src 'self' {socket}".rstrip(),
                "object-src 'none'",
                "base-uri 'self'",
                "form-action 'self'",
                "frame-ancestors 'self'" if framed else "frame-ancestors 'none'",
            )
        )


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
