"""Blocks of every page as HTML: whose it is, and what stands there once a session has ended."""

from html import escape

from dashboard.gate import words


def signed_in(line: str) -> str:
    """Whose page it is, and the way out."""
    out = f'<a target="_self" href="/logout">{escape(words.SIGN_OUT)}</a>'
    return f'<p class="lh-who">{escape(line)} {out}</p>'


def ended() -> str:
    """What stands where a page would be, once its session has ended."""
    again = f'<a target="_self" href="/login">{escape(words.SIGN_IN)}</a>'
    return f'<p class="lh-lead" role="alert">{escape(words.ENDED)} {again}</p>'
