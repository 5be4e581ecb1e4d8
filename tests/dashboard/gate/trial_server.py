"""A server behind the gate with two accounts, a provider and senders of every kind; for tests.

Run as ``python -m tests.dashboard.gate.trial_server PORT STORE METADATA``; it writes the senders'
tokens to ``tokens.json`` beside the store, and what was signed to ``signed.json``.
"""

import hashlib
import json
import sys
from dataclasses import asdict
from datetime import timedelta
from pathlib import Path

from dashboard.frame import session
from dashboard.gate.accounts import Accounts
from dashboard.gate.answered import Answered
from dashboard.gate.authority import Authority
from dashboard.gate.entrance import Entrance
from dashboard.gate.listening import Listening
from dashboard.gate.provider import Asked, Entering, Provider, Signing
from dashboard.gate.senders import fresh_token
from dashboard.gate.sessions import Sessions
from dashboard.gate.setup import ProviderSettings
from dashboard.gate.signed_in import SignedIn
from dashboard.server import process as server
from dashboard.server.runs import Runs, place
from dashboard.server.schedule import Schedule, utc
from dashboard.server.served import Served
from spc.errors import DispositionRefused, ProviderRefused
from spc.store import Store
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import Grant

ACCOUNTS = {"mara": ("mara-secret", "Mara Quill"), "jonas": ("jonas-secret", "Jonas Terrow")}
RECORDS = {"R1": "lot L-1 accepted", "R2": "lot L-2 rejected"}


def digest(request: str) -> str:
    """The digest of a record."""
    return hashlib.sha256(RECORDS[request].encode()).hexdigest()


class Desk:
    """What a register of people would do with what comes in."""

    def __init__(self, folder: Path) -> None:
        self._file, self._signed = folder / "signed.json", list[dict[str, object]]()
        self.sessions = Sessions()

    def entered(self, name: str, secret: str) -> str:
        """A session for a name and a secret."""
        if name not in ACCOUNTS or ACCOUNTS[name][0] != secret:
            raise ProviderRefused("name and secret do not match.", remedy="Type them again.")
        return self.sessions.begin(
            SignedIn(person=name, name=ACCOUNTS[name][1], roles=("QA officer",), way="account")
        )

    def signed_in(self, answer: Answered) -> str:
        """A session for an answer of the provider."""
        return self.sessions.begin(
            SignedIn(person=f"{answer.iss}#{answer.sub}", name=answer.name, way="provider")
        )

    def joined(self, _code: str, answer: Answered) -> str:
        """A session for whom an invitation is for."""
        return self.signed_in(answer)

    def asked(self, requests: tuple[str, ...], _key: str) -> str:
        """The digest of what is to be signed."""
        (request,) = requests
        if request not in RECORDS:
            raise DispositionRefused("there is no such request.", remedy="Open the lot again.")
        return digest(request)

    def signed(self, answer: Answered, asked: Asked, key: str) -> None:
        """Keep a signature; the same person never signs twice."""
        (request,) = asked.requests
        told = {**asdict(answer), "request": request, "by": self.sessions.who(key)}
        if any(one["sub"] == told["sub"] for one in self._signed if one["request"] == request):
            raise DispositionRefused("the second person must be another.", remedy="Ask one.")
        self._signed.append(told)
        self._file.write_text(json.dumps(self._signed, default=str))


def issued(store: Store) -> dict[str, str]:
    """Tokens of the register: one for several deeds, one that is over, one for a single deed."""
    connection, now = store._connection, utc()

    def token(sender: str, scope: tuple[str, ...], *, days: int, ago: int = 0) -> str:
        desk = PeopleDesk(connection, clock=lambda _cursor: now - timedelta(days=ago))
        grant = Grant(sender=sender, scope=scope, until=now + timedelta(days=days))
        return desk.issue_token(grant, by=desk.system_user(), reason="sends files")

    both, receive = ("receive files", "back up", "verify the record"), ("receive files",)
    return {
        "good": token("balance 3", both, days=1),
        "expired": token("balance 2", both, days=0, ago=2),
        "narrow": token("balance 1", receive, days=30),
    }


def main(port: int, store: Path, metadata: str) -> None:
    """Serve until stopped."""
    session.hold(Store.open(store))
    desk, listening = Desk(store.parent), Listening(port=port)
    settings = ProviderSettings(
        name="Fenland",
        metadata=metadata,
        client="lotheat",
        secret="s",  # noqa: S106 - of a provider that lives as long as a test
        roles={"qa-lead": "QA lead", "qa": "QA officer"},
    )
    ways = (
        Accounts(desk.entered, cookie=listening.cookie),
        Provider(
            Authority(settings, base=listening.base),
            cookie=listening.cookie,
            entering=Entering(signed_in=desk.signed_in, invited=str, joined=desk.joined),
            signing=Signing(digest=desk.asked, signed=desk.signed),
        ),
    )
    entrance = Entrance(
        lookup=desk.sessions.who, end=desk.sessions.end, cookie=listening.cookie, ways=ways
    )
    served = Served(listening=listening, entrance=entrance, welcome="")
    opened = session.store()
    (store.parent / "tokens.json").write_text(json.dumps(issued(opened)))
    page = Path(__file__).with_name("trial_page.py")
    schedule = Schedule((), Runs(place(store)))
    senders = server.known_senders(opened, fresh_token())
    server.run(server.application(page, served, senders=senders, schedule=schedule), listening)


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]), sys.argv[3])
