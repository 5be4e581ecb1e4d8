"""What is said to people on their way in and out."""

from typing import Final

from dashboard.frame.words import joined
from dashboard.gate.signed_in import SignedIn

SIGN_IN: Final = "Sign in"
SIGN_OUT: Final = "Sign out"
SIGNED_OUT: Final = "Signed out"
YOUR_ENTRY: Final = "Your entry"
NAME_LABEL: Final = "Name"
SECRET_LABEL: Final = "Secret"  # noqa: S105 - a word on the page
NO_ENTRY: Final = "This link does not open"
NOT_FINISHED: Final = "The sign-in was not finished"
NOT_SIGNED: Final = "Nothing was signed"
CHOOSE: Final = (
    "Choose a secret of at least twelve characters that only you know. You are asked for it"
    " whenever you sign in."
)
AGAIN_LABEL: Final = "Secret, once more"
NOT_ALIKE: Final = "The two are not alike. Type the secret twice."
ENDED: Final = "Your session has ended. Nothing was changed by your last click."


def welcome(name: str) -> str:
    """The heading for who was invited."""
    return f"Welcome, {name}"


def machine(user: str) -> tuple[str, ...]:
    """Where the link is, for who opens the address without one."""
    return (
        f"This server runs for {user}, the user of this computer, and for nobody else.",
        "Open the link that lotheat printed when it started. Each link opens once;"
        " `lotheat link` prints a new one.",
    )


def link_spent() -> tuple[str, ...]:
    """Why a link does not open."""
    return (
        "It was used before, a newer one was made, or it is not whole.",
        "`lotheat link` prints a new one.",
    )


def started(address: str, link: str, *, user: str, visited: bool) -> str:
    """What is printed when a server starts: how people come in.

    Parameters
    ----------
    user
        The computer's user, where only they may enter; else empty.
    visited
        Whether the link signs a visitor of the demo in.
    """
    stop = "stop the server with Ctrl+C"
    if user:
        return f"open {link} - it signs you in as {user}, once; {stop}"
    if visited:
        return (
            f"open {link} - it signs you in as the first of them, once; the others sign in at"
            f" {address}; {stop}"
        )
    return f"lotheat is at {address} - {stop}"


def who(person: SignedIn) -> str:
    """The line in the frame that says whose page it is, and what they are here."""
    if person.way == "machine":
        return f"Signed in as {person.name}, the computer's user: one person, no second signature."
    return f"Signed in as {person.name}, {joined(person.roles) if person.roles else 'no role'}."


def provider(name: str) -> str:
    """The button that leads to the company's sign-in."""
    return f"Sign in with {name}"


def joining(name: str) -> str:
    """What an invitation says where people sign in with the company."""
    return f"You were invited to lotheat. Sign in with {name} once, and it knows you from then on."


def signed_out(name: str) -> str:
    """What is said after a sign-out, where the company's own session goes on."""
    return f"You are signed out here. With {name} you may still be signed in."


def out_there(name: str) -> str:
    """The button that leads out of the company's session."""
    return f"Sign out of {name} too"
