"""Invitations, secrets, and what happens after wrong ones."""

import argon2
import pytest

from spc.errors import SignInRefused
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import Cost, Entry
from tests.staff import FAST, STAFF, secret_of


def invited(house, sign_in="nils", roles=("QA officer",)):
    entry = Entry(name=f"{sign_in.title()} Aster", sign_in=sign_in, roles=roles)
    return house.people.invite(entry, by=house.administrator(), reason="joins the house")


def wrong(house, times, sign_in="ines"):
    for _ in range(times):
        with pytest.raises(SignInRefused):
            house.people.sign_in(sign_in, secret="not the right secret")


def test_an_invitation_opens_one_account_once(house):
    code = invited(house)
    house.people.accept(code, secret="quite another secret")

    with pytest.raises(SignInRefused, match="used, replaced, or is older than 72 hours"):
        house.people.accept(code, secret="and a third secret here")


@pytest.mark.parametrize(("hours", "opens"), [(71.9, True), (72.1, False)])
def test_an_invitation_holds_72_hours(house, hours, opens):
    code = invited(house)

    house.clock.step(hours=hours)

    if opens:
        assert house.people.invited(code).name == "Nils Aster"
    else:
        with pytest.raises(SignInRefused):
            house.people.accept(code, secret="quite another secret")


def test_a_new_invitation_replaces_the_one_before(house):
    old = invited(house)
    new = house.people.invite_again("nils", by=house.signed("mara"))

    with pytest.raises(SignInRefused):
        house.people.accept(old, secret="quite another secret")
    assert house.people.invited(new).name == "Nils Aster"


def test_the_invitation_of_somebody_who_left_opens_nothing(house):
    code = invited(house)
    house.people.end("nils", by=house.signed("mara"), reason="never came")

    with pytest.raises(SignInRefused):
        house.people.accept(code, secret="quite another secret")


def test_neither_codes_nor_secrets_nor_keys_stand_in_the_file(house):
    code = invited(house)
    key = house.people.accept(code, secret="quite another secret")
    house.connection.close()

    content = house.path.read_bytes()

    for told in (code, key, "quite another secret"):
        assert told.encode() not in content


@pytest.mark.parametrize(
    ("secret", "why"),
    [
        ("short", "fewer than 12"),
        ("elevensigns", "fewer than 12"),
        ("x" * 300, "more than 256"),
        ("aaaaaaaaaaaaaaa", "repeats a few signs"),
        ("abcdefghijklmno", "neighbouring signs"),
        ("987654321098", "neighbouring signs"),
        ("Nils Aster Nils", "little more than the person's name"),
        ("nilsaster2026", "little more than the person's name"),
    ],
)
def test_a_secret_that_is_easy_to_guess_is_refused_and_the_invitation_stays_open(
    house, secret, why
):
    code = invited(house)

    with pytest.raises(SignInRefused, match=why) as refused:
        house.people.accept(code, secret=secret)

    assert secret not in str(refused.value)
    assert house.people.invited(code)


def test_a_secret_is_the_same_from_every_keyboard(house):
    house.people.accept(invited(house), secret="schöne Mühle am Bach")

    assert house.people.sign_in("nils", secret="scho\u0308ne Mu\u0308hle am Bach")


@pytest.mark.parametrize("typed", ["", "\x00", "\ud800", "x" * 10_000])
def test_a_strange_secret_is_only_a_wrong_one(house, typed):
    with pytest.raises(SignInRefused, match="do not open an account"):
        house.people.sign_in("ines", secret=typed)


def test_the_first_account_is_an_administrator_s(empty_house):
    code = invited(empty_house, roles=("QA officer",))

    with pytest.raises(SignInRefused, match="must be an administrator's"):
        empty_house.people.accept(code, secret="quite another secret")
    assert empty_house.people.alone


def test_five_wrong_secrets_lock_an_account_for_15_minutes(house):
    wrong(house, 5)

    with pytest.raises(SignInRefused):
        house.people.sign_in("ines", secret=secret_of("ines"))
    house.clock.step(minutes=14.9)
    with pytest.raises(SignInRefused):
        house.people.sign_in("ines", secret=secret_of("ines"))
    house.clock.step(minutes=0.2)
    assert house.people.sign_in("ines", secret=secret_of("ines"))


def test_four_wrong_secrets_lock_nothing_and_a_right_one_starts_the_count_anew(house):
    wrong(house, 4)
    house.session("ines")

    wrong(house, 4)

    assert house.session("ines")


def test_wrong_secrets_at_signatures_count_like_those_at_the_door(house):
    key = house.session("ines")
    for _ in range(5):
        with pytest.raises(SignInRefused):
            house.people.signing(key, secret="not the right secret", name="ines")

    with pytest.raises(SignInRefused):
        house.session("ines")


def test_a_lock_stands_in_the_audit_chain_and_in_the_register(house):
    wrong(house, 5)

    assert house.entries()[-1] == ("lotheat", "locked a person", "Ines Valbo")
    assert house.people.one("ines").locked_until == house.clock.at.replace(minute=15)
    assert house.people.one("mara").locked_until is None


def test_single_wrong_secrets_move_neither_the_chain_nor_the_revision(house):
    before = len(house.entries())

    wrong(house, 4)

    assert len(house.entries()) == before


def test_a_new_secret_ends_the_lock_and_every_session(house):
    key = house.session("ines")
    wrong(house, 5)
    code = house.people.invite_again("ines", by=house.signed("mara"))

    fresh = house.people.accept(code, secret="quite another secret")

    assert house.people.sessions("ines").shape[0] == 1
    assert house.people.who(house.people.session(fresh)).name == "Ines Valbo"
    with pytest.raises(Exception, match="session has ended"):
        house.people.who(house.people.session(key))
    with pytest.raises(SignInRefused):
        house.people.sign_in("ines", secret=secret_of("ines"))
    assert house.entries()[-2:] == [
        ("Mara Quill", "invited to a new secret", "Ines Valbo"),
        ("Ines Valbo", "chose a new secret", "Ines Valbo"),
    ]


def test_an_unknown_name_a_wrong_secret_and_a_lock_say_the_same(house):
    wrong(house, 5, "oskar")

    told = set()
    for name, secret in (
        ("nobody", "whatever it may be"),
        ("ines", "not the right secret"),
        ("oskar", secret_of("oskar")),
    ):
        with pytest.raises(SignInRefused) as refused:
            house.people.sign_in(name, secret=secret)
        told.add(str(refused.value))

    assert len(told) == 1


@pytest.mark.parametrize("known", ["ines", "nobody", "vera-who-is-not-there", "oskar", "nils"])
def test_every_refusal_costs_one_hash_of_the_same_parameters(house, known, monkeypatch):
    wrong(house, 5, "oskar")
    invited(house)
    dear = PeopleDesk(house.connection, clock=house.clock, cost=Cost(passes=2, memory_KiB=64))
    costs = []
    for name in ("hash_secret", "verify_secret"):
        real = getattr(argon2.low_level, name)

        def counted(*given, _real=real, _name=name, **named):
            told = given[0] if _name == "verify_secret" else None
            cost = argon2.extract_parameters(told.decode()) if told else None
            costs.append(
                (cost.time_cost, cost.memory_cost, cost.parallelism)
                if cost
                else (named["time_cost"], named["memory_cost"], named["parallelism"])
            )
            return _real(*given, **named)

        monkeypatch.setattr(f"argon2._password_hasher.{name}", counted, raising=False)
        monkeypatch.setattr(argon2.low_level, name, counted)

    with pytest.raises(SignInRefused):
        dear.sign_in(known, secret="not the right secret")

    assert costs == [(FAST.passes, FAST.memory_KiB, FAST.lanes)]


def test_a_hash_keeps_the_cost_it_was_made_with(house):
    dear = PeopleDesk(house.connection, clock=house.clock, cost=Cost(passes=2, memory_KiB=64))
    code = invited(house)

    dear.accept(code, secret="quite another secret")

    told = [one for (one,) in house.run("select encoded from account_secret")]
    assert sum("m=64,t=2" in one for one in told) == 1
    assert sum("m=8,t=1" in one for one in told) == len(STAFF)
    assert house.people.sign_in("nils", secret="quite another secret")


def test_a_house_whose_only_administrator_forgot_the_secret_is_let_in_from_the_machine(house):
    code = house.people.invite_again("mara", by=house.people.system_user())

    house.people.accept(code, secret="quite another secret")

    assert house.people.sign_in("mara", secret="quite another secret")
    assert house.entries()[-2][0].startswith("os:")


def test_the_machine_lets_in_nobody_else_again(house):
    with pytest.raises(Exception, match="people sign in to this store"):
        house.people.invite_again("ines", by=house.people.system_user())
