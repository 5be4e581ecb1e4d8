"""A server behind the gate with two accounts, a provider and senders of every kind; for tests.

Run as ``python -m tests.dashboard.gate.trial_server PORT STORE METADATA``; it writes the senders'
tokens to ``tokens.json`` beside the store, and what was signed to ``signed.json``.
"""

import hashlib
import json
import sys
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path

from dashboard.frame import session
from dashboard.gate.accounts import Accounts
from dashboard.gate.authority import Authority
from dashboard.gate.entrance import Entrance
from dashboard.gate.listening import Listening
from dashboard.gate.provider import Provider, Signing
from dashboard.gate.senders import Scope, Sender, Senders
from dashboard.gate.sessions import Sessions
from dashboard.gate.setup import ProviderSettings
from dashboard.gate.signed_in import SignedIn
from dashboard.server import process as server
from spc.errors import DispositionRefused, ProviderRefused
from spc.store import Store
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

    def signed_in(self, answer: object) -> str:
        """A session for an answer of the provider."""
        return self.sessions.begin(
            SignedIn(person=answer.person, name=answer.name, roles=answer.roles, way="provider")  # type: ignore[attr-defined]
        )

    def asked(self, request: str, _key: str) -> str:
        """The digest of what is to be signed."""
        if request not in RECORDS:
            raise DispositionRefused("there is no such request.", remedy="Open the lot again.")
        return digest(request)

    def signed(self, answer: object, request: str, key: str) -> None:
        """Keep a signature; the same person never signs twice."""
        told = {**asdict(answer), "request": request, "by": self.sessions.who(key)}  # type: ignore[call-overload]
        if any(one["sub"] == told["sub"] for one in self._signed if one["request"] == request):
            raise DispositionRefused("the second person must be another.", remedy="Ask one.")
        self._signed.append(told)
        self._file.write_text(json.dumps(self._signed, default=str))


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
            signed_in=desk.signed_in,
            signing=Signing(digest=desk.asked, signed=desk.signed),
        ),
    )
    entrance = Entrance(
        lookup=desk.sessions.who, end=desk.sessions.end, cookie=listening.cookie, ways=ways
    )
    served = server.Served(listening=listening, entrance=entrance, welcome="")
    senders, now = Senders(), datetime.now(UTC)
    both, receive = frozenset({Scope.RECEIVE, Scope.BACKUP}), frozenset({Scope.RECEIVE})
    tokens = {
        "good": senders.add(Sender(name="balance 3", scopes=both, until=now + timedelta(days=1))),
        "expired": senders.add(Sender(name="balance 2", scopes=both, until=now)),
        "narrow": senders.add(Sender(name="balance 1", scopes=receive)),
    }
    grant = Grant(
        sender="balance 3",
        scope=("receive files",),
        until=now.replace(tzinfo=None) + timedelta(days=1),
    )
    people = session.store().people
    tokens["sender"] = people.issue_token(grant, by=people.system_user(), reason="sends files")
    (store.parent / "tokens.json").write_text(json.dumps(tokens))
    page = Path(__file__).with_name("trial_page.py")
    server.run(server.application(page, served, senders=senders), listening)


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]), sys.argv[3])
