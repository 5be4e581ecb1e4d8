"""Who acts in tests: the computer's user in a store where nobody has an account, or its staff."""

from spc.store import Store
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import CUT_OVER, STANDS_STILL, Cost, Entry, Proof
from spc.store.people.identity import system_user
from spc.store.people.proofs import SystemUserProof

# Secrets hashed in a fraction of a millisecond; their hashes tell it.
FAST = Cost(passes=1, memory_KiB=8, lanes=1)
SECRET = "odd {name} lamp under seven rivers"  # noqa: S105 - of invented people
STAFF = {
    "mara": ("Mara Quill", ("QA lead", "administrator")),
    "ines": ("Ines Valbo", ("QA officer",)),
    "jonas": ("Jonas Terrow", ("purchasing",)),
    "petra": ("Petra Lind", ("product developer",)),
    "oskar": ("Oskar Brenn", ("QA officer",)),
    "vera": ("Vera Holm", ("viewer",)),
}

# The computer's user, and what they are called in the record.
ME: Proof = SystemUserProof(user=system_user())
MY_NAME = f"os:{system_user()}"


def secret_of(sign_in: str) -> str:
    return SECRET.format(name=sign_in)


def enter(store: Store, *sign_ins: str) -> None:
    """Register some of the staff, who accept at once; from then on the computer's user is nobody.

    The first must be an administrator.
    """
    people = PeopleDesk(store._connection, cost=FAST)
    for sign_in in sign_ins:
        name, roles = STAFF[sign_in]
        by = ME if people.alone else signed(store, "mara")
        entry = Entry(name=name, sign_in=sign_in, roles=roles)
        code = people.invite(entry, by=by, reason="joins the house")
        people.accept(code, secret=secret_of(sign_in))


def first_day(store: Store, day: str) -> None:
    """Sign the day before which decisions may come in as history."""
    by = ME if store.people.alone else mara(store)
    store.people.set_rule(CUT_OVER, day, by=by, reason="first day of this record")


def stand_still(store: Store, day: str) -> None:
    """Sign the day at which a store stands still, so that terms run out when the tests say."""
    by = ME if store.people.alone else mara(store)
    store.people.set_rule(STANDS_STILL, day, by=by, reason="a store for tests")


def signed(store: Store, sign_in: str) -> Proof:
    """A proof that one of the staff has just given their secret."""
    return store.people.signing_as(sign_in, secret=secret_of(sign_in))


def mara(store: Store) -> Proof:
    """The QA lead, who has just given her secret."""
    return signed(store, "mara")


def ines(store: Store) -> Proof:
    """A QA officer, who has just given her secret."""
    return signed(store, "ines")


def jonas(store: Store) -> Proof:
    """Purchasing, who has just given his secret."""
    return signed(store, "jonas")
