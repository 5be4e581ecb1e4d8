"""`lotheat people` as administrators and their programs use it."""

import json
from datetime import date

import pytest
from typer.testing import CliRunner

from dashboard.command.lotheat import app
from dashboard.command.terminal import Exit
from spc.errors import LotHeatError, NotAllowed, NotKnown, RegisterRefused, SignInRefused
from spc.store import Store
from spc.store.connection import Connection
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import Cost
from tests.dashboard import typed

SECRET = "odd lamp under seven rivers"  # noqa: S105 - an invented person's
MARA = ("invite", "Mara Quill", "--sign-in", "mara", "--role", "administrator")


@pytest.fixture
def lotheat(tmp_path):
    """Runs the command in this process; what is typed comes by stdin, as from a program."""

    def run(*words, typed=""):
        given = ["people", *words, "--store", str(tmp_path / "house.db")]
        return CliRunner().invoke(app, given, input=typed, env={"COLUMNS": "200"})

    return run


@pytest.fixture
def accepted(tmp_path):
    """Accepts an invitation, as the page of the server will."""

    def accept(code):
        connection = Connection(tmp_path / "house.db")
        PeopleDesk(connection, cost=Cost(passes=1, memory_KiB=8, lanes=1)).accept(
            code.strip(), secret=SECRET
        )
        connection.close()

    return accept


def listed(lotheat):
    return json.loads(lotheat("list", "--json").stdout)


def test_the_first_administrator_is_invited_without_any_question(lotheat, accepted):
    invited = lotheat(*MARA)

    assert invited.exit_code == Exit.DONE, invited.stderr
    assert len(invited.stdout.split()) == 1
    assert "holds 72 hours" in invited.stderr
    assert [one["state"] for one in listed(lotheat)["people"]] == ["invited"]
    accepted(invited.stdout)
    assert [one["state"] for one in listed(lotheat)["people"]] == ["active"]


def test_once_somebody_has_an_account_the_command_asks_who_acts(lotheat, accepted):
    accepted(lotheat(*MARA).stdout)
    ines = ("invite", "Ines Valbo", "--sign-in", "ines", "--role", "QA officer", "--as", "mara")

    refused = lotheat(*ines, typed="not the right secret\n")
    done = lotheat(*ines, typed=f"{SECRET}\n")

    assert isinstance(refused.exception, SignInRefused)
    assert refused.stdout == ""
    assert done.exit_code == Exit.DONE, done.stderr
    assert SECRET not in done.stdout + done.stderr
    assert [one["sign_in"] for one in listed(lotheat)["people"]] == ["ines", "mara"]


def test_a_person_is_changed_and_ended_with_a_reason(lotheat, accepted):
    accepted(lotheat(*MARA).stdout)
    lotheat(
        *("invite", "Ines Valbo", "--sign-in", "ines", "--role", "viewer", "--as", "mara"),
        typed=SECRET,
    )

    changed = lotheat(
        *("change", "ines", "--role", "QA lead", "--reason", "new post", "--as", "mara"),
        typed=SECRET,
    )
    ended = lotheat("end", "ines", "--reason", "left in spring", "--as", "mara", typed=SECRET)

    assert "QA lead" in changed.stdout
    assert ended.exit_code == Exit.DONE, ended.stderr
    assert [(one["roles"], one["state"]) for one in listed(lotheat)["people"]] == [
        (["QA lead"], "ended"),
        (["administrator"], "active"),
    ]


def test_a_token_is_printed_once_and_ended_by_what_is_listed(lotheat):
    lotheat(*MARA)

    issued = lotheat("token", "Bench 2", "--for", "receive files", "--days", "30")
    (token,) = listed(lotheat)["tokens"]
    shown = lotheat("list").stdout
    lotheat("token", token["token"][:12], "--end", "--reason", "lost")

    assert issued.stdout.startswith("lh_")
    assert issued.stdout.strip() not in shown
    assert token["token"][:12] in shown
    assert listed(lotheat)["tokens"][0]["ended"]


def test_an_administrator_who_forgot_the_secret_is_let_in_from_the_machine(lotheat, accepted):
    accepted(lotheat(*MARA).stdout)

    again = lotheat("again", "mara", "--machine")

    assert again.exit_code == Exit.DONE, again.stderr
    accepted(again.stdout)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("invite", "Mara Quill", "--sign-in", "mara"), "no role is given"),
        (("invite", "x", "--sign-in", "mara", "--role", "viewer"), "is no name of a person"),
        (("invite", "Mara Quill", "--sign-in", "m", "--role", "boss"), "there is no role 'boss'"),
        (("token", "Bench 2", "--for", "accept a lot"), "no token is for 'accept a lot'"),
        (("end", "nobody", "--reason", "never came"), "There is no person 'nobody'"),
    ],
)
def test_what_cannot_be_entered_is_refused_with_a_sentence(lotheat, words, sentence):
    lotheat("invite", "Petra Lind", "--sign-in", "petra", "--role", "administrator")

    refused = lotheat(*words)

    assert isinstance(refused.exception, LotHeatError)
    assert sentence in str(refused.exception)


def test_nobody_is_looked_for_in_a_store_that_is_not_there(lotheat):
    assert "there is no store yet" in str(lotheat("list").exception)


def test_a_program_is_told_by_the_exit_code(tmp_path):
    done = typed.lotheat("people", *MARA[:2], "--store", tmp_path / "house.db")

    assert (done.returncode, done.stdout) == (Exit.REFUSED, "")
    assert "cannot be a name to sign in with" in done.stderr


def test_the_first_day_is_signed_by_an_administrator(lotheat, accepted, tmp_path):
    accepted(lotheat(*MARA).stdout)

    done = lotheat("first-day", "2026-11-20", "--as", "mara", typed=f"{SECRET}\n")
    odd = lotheat("first-day", "20 November", "--as", "mara", typed=f"{SECRET}\n")

    assert done.exit_code == Exit.DONE, done.stderr
    assert isinstance(odd.exception, RegisterRefused)
    with Store.open(tmp_path / "house.db") as store:
        assert store.people.first_day == date(2026, 11, 20)


def test_a_sender_s_token_brings_files_and_a_name_does_not(lotheat, accepted, tmp_path):
    """Where people sign in, the computer's user is nobody, and a program shows its token."""
    accepted(lotheat(*MARA).stdout)
    key = lotheat("token", "Bench 2", "--as", "mara", typed=f"{SECRET}\n").stdout.strip()
    file = tmp_path / "more.toml"
    file.write_text('[[supplier]]\nsupplier = "North Mill"\n')
    words = ["receive", str(file), "--store", str(tmp_path / "house.db")]

    wrong = CliRunner().invoke(app, words, env={"LOTHEAT_TOKEN": "lh_odd"})
    done = CliRunner().invoke(app, words, env={"LOTHEAT_TOKEN": key})

    assert isinstance(wrong.exception, NotKnown)
    assert done.exit_code == Exit.DONE, done.stderr
    with Store.open(tmp_path / "house.db") as store:
        assert store.receipts()["received_by"].tolist() == ["Bench 2"]


def test_a_role_that_may_not_is_told_which_may(lotheat, accepted, tmp_path):
    accepted(lotheat(*MARA).stdout)
    vera = ("invite", "Vera Holm", "--sign-in", "vera", "--role", "viewer", "--as", "mara")
    accepted(lotheat(*vera, typed=f"{SECRET}\n").stdout)
    file = tmp_path / "more.toml"
    file.write_text('[[supplier]]\nsupplier = "North Mill"\n')
    words = ["receive", str(file), "--store", str(tmp_path / "house.db"), "--as", "vera"]

    refused = CliRunner().invoke(app, words, env={"LOTHEAT_SECRET": SECRET})

    assert isinstance(refused.exception, NotAllowed)
    assert "purchasing" in str(refused.exception)
