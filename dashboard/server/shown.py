"""Who acts in a request of a program."""

from starlette.requests import Request

from dashboard.frame import session
from dashboard.gate.senders import Sender
from dashboard.server.reaching import person_shown
from spc.store.people import Proof


def proof(request: Request, sender: Sender) -> Proof:
    """The sender of a token; of the server's own, the person beside it or the computer's user.

    Raises
    ------
    SignInRefused
        If name and secret do not belong together.
    """
    if sender.by is not None:
        return sender.by
    person, people = person_shown(request.headers), session.store().people
    if person is None:
        return people.system_user()
    name, key = person
    return people.signing_as(name, secret=key) if name else people.session(key)
