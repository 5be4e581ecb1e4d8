"""People and tokens as lines."""

from datetime import datetime

from dashboard.people import tables
from spc.store.people import Person, Token

NOW = datetime(2026, 3, 4, 8, 0)  # noqa: DTZ001 - as the store keeps it: UTC
LATER = datetime(2026, 3, 4, 8, 15)  # noqa: DTZ001


def person(name, **facts):
    return Person(person=name, name=name, sign_in=name, roles=("viewer",), **facts)


def test_those_who_can_sign_in_stand_before_those_who_left():
    frame = tables.people([person("a", state="ended"), person("b", state="active")], NOW)

    assert frame["name"].tolist() == ["b", "a"]


def test_a_locked_account_says_until_when_and_only_until_then():
    locked = person("a", state="active", locked_until=LATER)

    assert tables.people([locked], NOW)["state"].tolist() == ["locked until 08:15 UTC"]
    assert tables.people([locked], LATER)["state"].tolist() == ["active"]


def test_an_ended_token_stands_last_and_shows_only_its_first_signs():
    ended = Token(token="a" * 64, sender="x", scope=("look",), until=LATER, ended=True, since=NOW)
    given = Token(token="b" * 64, sender="y", scope=("look",), until=LATER, ended=False, since=NOW)

    frame = tables.tokens([ended, given])

    assert frame["sender"].tolist() == ["y", "x"]
    assert frame["begins with"].tolist() == ["b" * 8, "a" * 8]
