"""What a signature costs beside the hash of the secret, and what a click costs beside a bare read.

Run as ``python -m tests.bench.bench_signing``.  Yardstick: one write that does nothing, one read of
one row.  Bar of the issue: signing adds at most 50 ms beside the hash.
"""

import statistics
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from spc.store.connection import Connection
from spc.store.desks.people_desk import PeopleDesk
from spc.store.desks.signing_desk import SigningDesk
from spc.store.file.cursors import Cursor
from spc.store.people import Actor, Ask, Cost, Entry, Proof, Request

REPEATS = 60
PEOPLE = 25
HISTORY = 150
SECRET = "odd lamp under seven rivers"  # noqa: S105 - an invented person's
NO_HASH = Cost(passes=1, memory_KiB=8, lanes=1)
ASK = Ask(
    deed="accept a lot",
    subject="L-1",
    about={"decision": "accepted", "lines": [{"heat": "conforming"}] * 8},
    meaning="accepted",
    reason="conforms",
)


class Nothing:
    """A deed that rests on nothing and does nothing."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:  # noqa: ARG002
        return {}

    def news(self, cursor: Cursor, request: Request) -> str:  # noqa: ARG002
        return ""

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: object) -> None:
        """Nothing to do."""


def main() -> None:
    """Fill a register and a record, and print what one more signature costs."""
    with tempfile.TemporaryDirectory() as folder:
        connection = Connection(Path(folder) / "house.db")
        people = PeopleDesk(connection, cost=NO_HASH)
        signing = SigningDesk(connection, business={"accept a lot": Nothing()})
        key = _register(people)
        for _ in range(HISTORY):
            _signed(people, signing, key)
        bare = _median(lambda: connection.write(lambda _cursor: None, token=str(time.time_ns())))
        asked = _median(lambda: signing.ask(ASK, by=people.session(key)))
        one = _median(lambda: _signed(people, signing, key)) - asked
        read = _median(lambda: _read(connection))
        who = _median(lambda: people.who(people.session(key)))
        connection.close()
    print(f"a bare write: {bare:.1f} ms; a bare read: {read:.1f} ms")  # noqa: T201
    print(f"asking for a signature: {asked:.1f} ms, {asked / bare:.1f} bare writes")  # noqa: T201
    print(f"signing beside the hash: {one:.1f} ms, {one / bare:.1f} bare writes")  # noqa: T201
    print(f"who is there, at each click: {who:.1f} ms, {who / read:.1f} bare reads")  # noqa: T201


def _register(people: PeopleDesk) -> str:
    by: Proof = people.system_user()
    key = ""
    for number in range(PEOPLE):
        roles = ("administrator", "QA lead") if number == 0 else ("QA officer",)
        name = f"{number:05b}".translate({48: "a", 49: "n"})
        entry = Entry(name=f"Person {name}", sign_in=name, roles=roles)
        code = people.invite(entry, by=by, reason="bench")
        opened = people.accept(code, secret=SECRET)
        key = key or opened
        by = people.signing_as("aaaaa", secret=SECRET)
    people.signing(key, secret=SECRET, name="aaaaa")
    return key


def _signed(people: PeopleDesk, signing: SigningDesk, key: str) -> None:
    request = signing.ask(ASK, by=people.session(key))
    signing.sign(request.request, by=people.signing(key, secret=SECRET))


def _read(connection: Connection) -> None:
    with connection.read() as cursor:
        cursor.execute("select max(sequence) from audit").fetchone()


def _median(work: Callable[[], object]) -> float:
    """Milliseconds of processor time, because other programs run beside it."""
    work()
    times = []
    for _ in range(REPEATS):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return 1000 * statistics.median(times)


if __name__ == "__main__":
    main()
