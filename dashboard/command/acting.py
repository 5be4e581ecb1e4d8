"""Who acts at a terminal: the computer's user, a person with a secret, or a sender's token."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Final

import typer

from dashboard.server import handover
from dashboard.server.reaching import Running, Sender
from spc.store import Store
from spc.store.people import Proof

SECRET_VARIABLE: Final = "LOTHEAT_SECRET"  # noqa: S105 - where it is found
TOKEN_VARIABLE: Final = "LOTHEAT_TOKEN"  # noqa: S105 - where it is found

AsOption = Annotated[
    str, typer.Option("--as", help="Your sign-in name.", show_default="it is asked for")
]


def token() -> str:
    """A sender's token, where one stands in the environment; empty if none does."""
    return os.environ.get(TOKEN_VARIABLE, "")


def signed(opened: Store, as_name: str) -> Proof:
    """Who signs now: the computer's user where nobody has an account, else somebody's secret."""
    if opened.people.alone:
        return opened.people.system_user()
    name, secret = asked(as_name)
    return opened.people.signing_as(name, secret=secret)


@contextmanager
def acting(opened: Store, as_name: str) -> Iterator[Proof]:
    """Who acts while the block lasts, which may be longer than a secret holds."""
    people = opened.people
    if token():
        yield people.token(token())
    elif people.alone:
        yield people.system_user()
    else:
        name, secret = asked(as_name)
        key = people.sign_in(name, secret=secret)
        try:
            yield people.session(key)
        finally:
            people.end_session(key)


@contextmanager
def acting_there(server: Running, as_name: str) -> Iterator[Sender]:
    """The same, of what is handed to a running server."""
    if token():
        yield Sender(token=token())
    elif handover.registered(server, "alone", {})["alone"]:
        yield Sender()
    else:
        name, secret = asked(as_name)
        key = handover.registered(server, "sign in", {"name": name, "secret": secret})["key"]
        try:
            yield Sender(person=("", key))
        finally:
            handover.registered(server, "sign out", {"key": key})


def asked(as_name: str) -> tuple[str, str]:
    """Name and secret; a program writes the secret to stdin, in one line, or sets the variable."""
    name = as_name or typer.prompt("Your sign-in name", err=True)
    if SECRET_VARIABLE in os.environ:
        return name, os.environ[SECRET_VARIABLE]
    if sys.stdin.isatty():
        return name, typer.prompt("Your secret", hide_input=True, err=True)
    return name, sys.stdin.readline().rstrip("\n")
