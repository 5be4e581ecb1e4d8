"""What is said where something is signed."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from dashboard.frame.signing_words import moment
from dashboard.frame.words import count, joined
from spc.store.people import Actor, Request

NAME: Final = "Name you sign in with"
SECRET: Final = "Your secret"  # noqa: S105 - a word on the page
THEIR_NAME: Final = "Name they sign in with"
THEIR_SECRET: Final = "Their secret"  # noqa: S105 - a word on the page
CONFIRM: Final = "Confirm"
BESIDE: Final = "The second person is here"
BESIDE_TOLD: Final = "They give their own name and secret; you stay signed in."
REASON: Final = "reason"
NOTHING: Final = "Nothing was signed."
DONE: Final = "Done."
GONE: Final = "This is no longer to be signed"
GONE_TOLD: Final = "It was signed or closed, or it belongs to another session. Open it again."
AT_PROVIDER: Final = (
    "You show who you are at the company's sign-in: use the button below this frame."
)

_CHANGED: Final[Mapping[str, str]] = {
    "evidence": "The evidence is no longer what you saw: a result came in, or no longer counts.",
    "decision": "Another decision was signed about it.",
    "decisions": "Another decision was signed about it.",
}
_NAMES: Final[Mapping[str, str]] = {"lines": "line by line", "until": "holds until"}


def name_of(fact: str) -> str:
    """What a fact of a request is called beside its text."""
    return _NAMES.get(fact, fact.replace("_", " "))


def heading(requests: Sequence[Request]) -> str:
    """What a signature says of a thing."""
    first = requests[0]
    what = first.meaning[:1].upper() + first.meaning[1:]
    return f"{what}: {first.subject if len(requests) == 1 else count(len(requests), 'record')}"


def signer(actor: Actor, roles: Sequence[str], at: datetime) -> str:
    """Who is about to sign, and how they will stand in the record."""
    role = f", {joined(list(dict.fromkeys(roles)))}" if roles else ""
    return f"You sign as {actor.name}{role}, {moment(at)}."


def machine(actor: Actor) -> str:
    """What a confirmation on one's own machine is worth."""
    return (
        f"You confirm as {actor.name}, the computer's user. No secret is asked, because nobody is"
        " registered here; the record says so: one person, no second signature."
    )


def waits(request: Request) -> str:
    """What is still missing, and that nothing has changed until then."""
    first = request.signatures[0]
    return (
        f"{first.name} has signed. It waits for a second person, who finds it in their Today;"
        " until then nothing has changed."
    )


def asked(request: Request) -> str:
    """Who asks for a second signature."""
    first = request.signatures[0]
    if request.complete:
        return f"{first.name} signed this alone on {moment(first.signed_at)}; you countersign it."
    return f"{first.name} ({first.role}) asks you to sign with them."


def changed(what: str) -> str:
    """One thing that a request rested on and that is another now."""
    return _CHANGED.get(what, f"Something else has changed: {what}.")


def button(requests: Sequence[Request]) -> str:
    """The button beside the secret."""
    return "Sign" if len(requests) == 1 else f"Sign all {len(requests)}"
