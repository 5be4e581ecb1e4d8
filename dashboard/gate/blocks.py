"""Blocks of every page as HTML: whose it is, and what stands there once a session has ended."""

from html import escape

from dashboard.gate import words
from dashboard.gate.signed_in import SignedIn


def signed_in(person: SignedIn) -> str:
    """Whose page it is, the way to their own entry, and the way out."""
    places = [("/people", words.YOUR_ENTRY)] if person.way != "machine" else []
    places.append(("/logout", words.SIGN_OUT))
    links = " ".join(f'<a target="_self" href="{at}">{escape(name)}</a>' for at, name in places)
    return f'<p class="lh-who">{escape(words.who(person))} {links}</p>'


def ended() -> str:
    """What stands where a page would be, once its session has ended."""
    again = f'<a target="_self" href="/login">{escape(words.SIGN_IN)}</a>'
    return f'<p class="lh-lead" role="alert">{escape(words.ENDED)} {again}</p>'
