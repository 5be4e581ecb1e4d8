"""People of the store's register at the door: invited, signed in, signed out."""

import json
import re
import shutil
from urllib.parse import urlencode

import pytest
from typer.testing import CliRunner

from dashboard.command.lotheat import app
from spc.errors import NotKnown, SignInRefused
from spc.store import Store
from spc.store.people import Entry
from tests.dashboard.gate.visits import PAGE, Visitor, free_port, started

SECRET = "odd lamp under seven rivers"  # noqa: S105 - of an invented person


@pytest.fixture
def invited(small_store_file, tmp_path):
    """A port, the one-time link of the computer's user, and the code of an invitation."""
    path = shutil.copy(small_store_file, tmp_path / "lots.duckdb")
    entry = Entry(name="Mara Quill", sign_in="mara", roles=("QA lead", "administrator"))
    with Store.open(path) as store:
        code = store.people.invite(entry, by=store.people.system_user(), reason="joins the house")
    port = free_port()
    words = ("serve", "--store", path, "--port", port)
    with started("dashboard.command.lotheat", *words, port=port) as process:
        link = re.search(r"/once/\S+", process.stderr.readline())
        assert link is not None
        yield port, link.group(), code


@pytest.fixture
def lotheat(tmp_path):
    """Runs a command beside the server; what is typed comes by stdin."""

    def run(*words, typed=""):
        given = [*words, "--store", str(tmp_path / "lots.duckdb")]
        return CliRunner().invoke(app, given, input=typed, env={"COLUMNS": "200"})

    return run


def joined(port, code, secret=SECRET, again=SECRET):
    form = urlencode({"secret": secret, "again": again})
    return Visitor(port).post(f"/join/{code}", form)


def looked(port, cookie):
    """What somebody with a cookie gets of the first page."""
    return Visitor(port, cookie).get("/", **PAGE).status


def test_whoever_was_invited_chooses_a_secret_and_signs_in_with_it_from_then_on(invited):
    port, link, code = invited
    owner = Visitor(port).get(link).cookie
    assert looked(port, owner) == 200
    assert b"Welcome, Mara Quill" in Visitor(port).get(f"/join/{code}").body

    assert joined(port, code, again="another").status == 422
    assert joined(port, code, secret="mara", again="mara").status == 422  # noqa: S106
    first = joined(port, code)

    assert first.status == 303
    assert looked(port, first.cookie) == 200
    assert looked(port, owner) == 303
    spent = joined(port, code)
    assert spent.status == 403
    assert b"This invitation is not open" in spent.body


def test_a_session_of_the_register_ends_when_its_person_signs_out(invited):
    port, _, code = invited
    joined(port, code)
    form = urlencode({"name": "mara", "secret": SECRET, "next": "/lots"})

    answer = Visitor(port).post("/login", form)
    assert (answer.status, answer.headers["location"]) == (303, "/lots")
    assert Visitor(port, answer.cookie).post("/logout").status == 303

    assert looked(port, answer.cookie) == 303
    assert Visitor(port).post("/login", form.replace("seven", "six")).status == 401


def test_the_register_is_read_and_changed_beside_the_server_under_a_name_and_a_secret(
    invited, lotheat
):
    port, _, code = invited
    ines = (
        "people",
        "invite",
        "Ines Valbo",
        "--sign-in",
        "ines",
        "--role",
        "viewer",
        "--as",
        "mara",
    )
    alone = lotheat("people", "token", "Bench 2", "--days", "30")
    joined(port, code)

    listed = json.loads(lotheat("people", "list", "--json").stdout)
    wrong = lotheat(*ines, typed="not the right secret\n")
    done = lotheat(*ines, typed=f"{SECRET}\n")
    entered = joined(port, done.stdout.strip())
    again = lotheat("people", "again", "mara", "--machine")

    assert alone.stdout.startswith("lh_")
    assert [one["state"] for one in listed["people"]] == ["active"]
    assert isinstance(wrong.exception, SignInRefused)
    assert (done.exit_code, entered.status, again.exit_code) == (0, 303, 0), done.stderr
    ended = lotheat(
        *("people", "end", "ines", "--reason", "left", "--as", "mara"), typed=f"{SECRET}\n"
    )
    assert ended.exit_code == 0
    assert looked(port, entered.cookie) == 303


def test_files_are_handed_to_the_server_by_a_person_or_a_sender_with_a_token(
    invited, lotheat, source_file, tmp_path, monkeypatch
):
    port, _, code = invited
    token = lotheat("people", "token", "Bench 2", "--days", "30").stdout.strip()
    joined(port, code)
    for minute in (10, 11, 12):
        row = f"L-1,1,1,2026-03-04 08:{minute}:00,0.1,10,10,8.2,µmol/L"
        (tmp_path / f"{minute}.csv").write_bytes(source_file("sensor", row))

    def receive(minute, *words, typed=""):
        return lotheat("receive", str(tmp_path / f"{minute}.csv"), "--json", *words, typed=typed)

    monkeypatch.delenv("LOTHEAT_TOKEN", raising=False)
    wrong = receive(10, "--as", "mara", typed="not the secret\n")
    hers = receive(10, "--as", "mara", typed=f"{SECRET}\n")
    monkeypatch.setenv("LOTHEAT_TOKEN", token)
    benchs = receive(11)
    monkeypatch.setenv("LOTHEAT_TOKEN", "lh_guess")
    nobodys = receive(12)

    assert isinstance(wrong.exception, SignInRefused)
    assert [json.loads(one.stdout)["receipts"][0]["received_by"] for one in (hers, benchs)] == [
        "Mara Quill",
        "Bench 2",
    ]
    assert isinstance(nobodys.exception, NotKnown)
