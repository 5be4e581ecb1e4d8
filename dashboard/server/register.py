"""The register of people by verbs with plain values, as the command asks it.

The same verbs serve a command that has the store open itself, and one that asks the running server.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import Any, Final

from spc.errors import InvalidInput, UnknownName
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import CUT_OVER, GROUPS, Entry, Grant, Person, Proof, Token

# Makes the proof of who acts, where a verb needs one.
By = Callable[[], Proof]
Given = Mapping[str, Any]

LOOKS: Final = frozenset({"list", "alone"})


def carry_out(people: PeopleDesk, verb: str, given: Given, *, by: By) -> dict[str, Any]:
    """Do what a verb says with what is given.

    Raises
    ------
    LotHeatError
        If the register does not allow it, there is no such verb, or something is not given.
    """
    if verb not in VERBS:
        raise UnknownName("verb of the register", verb, known=list(VERBS))
    try:
        return VERBS[verb](people, given, by)
    except (KeyError, TypeError) as problem:
        raise InvalidInput(
            f"what is given does not fit {verb!r}: {problem}.",
            where="people",
            remedy="Use `lotheat people` of the version that the server runs.",
        ) from problem


def _list(people: PeopleDesk, _given: Given, _by: By) -> dict[str, Any]:
    return {
        "people": [person_told(one) for one in people.every()],
        "tokens": [_token_told(one) for one in people.tokens()],
    }


def _alone(people: PeopleDesk, _given: Given, _by: By) -> dict[str, Any]:
    return {"alone": people.alone}


def _invite(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    return {"code": people.invite(_entry(given), by=by(), reason=given["reason"])}


def _again(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    proof = people.system_user() if given.get("machine") else by()
    return {"code": people.invite_again(given["person"], by=proof)}


def _change(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    after = people.change(given["person"], _entry(given), by=by(), reason=given["reason"])
    return {"people": [person_told(after)]}


def _end(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    people.end(given["person"], by=by(), reason=given["reason"])
    return {}


def _token(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    until = datetime.now(UTC).replace(tzinfo=None) + timedelta(days=given["days"])
    grant = Grant(sender=given["sender"], scope=tuple(given["scope"]), until=until)
    key = people.issue_token(grant, by=by(), reason=given["reason"])
    return {"key": key, "until": f"{until:%Y-%m-%d}"}


def _end_token(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    people.end_token(given["token"], by=by(), reason=given["reason"])
    return {}


def _first_day(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    people.set_rule(CUT_OVER, given["day"], by=by(), reason=given["reason"])
    return {}


def _sign_in(people: PeopleDesk, given: Given, _by: By) -> dict[str, Any]:
    return {"key": people.sign_in(given["name"], secret=given["secret"])}


def _sign_out(people: PeopleDesk, given: Given, _by: By) -> dict[str, Any]:
    people.end_session(given["key"])
    return {}


def _groups(people: PeopleDesk, given: Given, by: By) -> dict[str, Any]:
    every = {**people.groups(), given["issuer"]: dict(given["roles"])}
    people.set_rule(GROUPS, every, by=by(), reason=given["reason"])
    return {}


VERBS: Final[Mapping[str, Callable[[PeopleDesk, Given, By], dict[str, Any]]]] = MappingProxyType(
    {
        "list": _list,
        "alone": _alone,
        "invite": _invite,
        "again": _again,
        "change": _change,
        "end": _end,
        "token": _token,
        "end token": _end_token,
        "groups": _groups,
        "first day": _first_day,
        "sign in": _sign_in,
        "sign out": _sign_out,
    }
)


def person_told(one: Person) -> dict[str, Any]:
    """Somebody in the register, in plain values."""
    return {
        "person": one.person,
        "name": one.name,
        "sign_in": one.sign_in,
        "roles": list(one.roles),
        "email": one.email,
        "provider": one.provider,
        "state": one.state,
        "locked_until": _time(one.locked_until),
        "since": _time(one.since),
    }


def _token_told(one: Token) -> dict[str, Any]:
    """A token in plain values; `token` is a digest, which opens nothing."""
    return {
        "token": one.token,
        "sender": one.sender,
        "scope": list(one.scope),
        "until": _time(one.until),
        "ended": one.ended,
    }


def _entry(given: Given) -> Entry:
    roles = given["roles"]
    return Entry(
        name=given["name"],
        sign_in=given["sign_in"],
        roles=None if roles is None else tuple(roles),
        email=given["email"],
        provider=given["provider"],
    )


def _time(at: datetime | None) -> str | None:
    return None if at is None else str(at)
