"""People of the store's register at the door: invited, signed in, signed out."""

import re
import shutil
from urllib.parse import urlencode

import pytest

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
