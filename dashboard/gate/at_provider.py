"""Where people of this server sign at the company's provider, and how a page leads there."""

from collections.abc import Sequence
from typing import Final
from urllib.parse import urlencode

SIGN: Final = "/sign/provider"
_PAGE: Final = "/sign"

_HELD: list[str] = []


def hold(name: str) -> None:
    """Make a provider, by the name on its button, the one of this process; empty for none."""
    _HELD[:] = [name]


def name() -> str:
    """The provider at which people sign; empty where they have a secret here."""
    return _HELD[0] if _HELD else ""


def address(requests: Sequence[str], *, second: bool = False) -> str:
    """Where a browser is sent to sign requests.

    Parameters
    ----------
    second
        Whether somebody else than who is signed in is to sign.
    """
    more = [("second", "yes")] if second else []
    return f"{SIGN}?{urlencode([*(('request', one) for one in requests), *more])}"


def place(requests: Sequence[str]) -> str:
    """The page that says how requests stand."""
    return f"{_PAGE}?{urlencode([('request', one) for one in requests])}"
