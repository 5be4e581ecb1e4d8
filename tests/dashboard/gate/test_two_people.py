"""Two people at one server: nobody gets another's page, and programs are known by their tokens."""

import json
import shutil
from urllib.parse import urlencode

import pytest

from dashboard.server.handover import BACKUP, LINK, PEOPLE, RECEIVE, VERIFY
from dashboard.server.reaching import STORE
from tests.dashboard.gate.visits import Visitor, free_port, started

NOWHERE = "http://127.0.0.1:1/.well-known/openid-configuration"


@pytest.fixture(scope="module")
def served(small_store_file, tmp_path_factory):
    """The port of a trial server, and its store."""
    store = tmp_path_factory.mktemp("two") / "lots.duckdb"
    shutil.copy(small_store_file, store)
    port = free_port()
    with started("tests.dashboard.gate.trial_server", port, store, NOWHERE, port=port):
        yield port, store


def signed_in(port, name):
    form = urlencode({"name": name, "secret": f"{name}-secret", "next": "/lots?x=1"})
    return Visitor(port, Visitor(port).post("/login", form).cookie)


@pytest.fixture
def mara(served):
    return signed_in(served[0], "mara")


@pytest.fixture
def jonas(served):
    return signed_in(served[0], "jonas")


@pytest.fixture
def token(served):
    """Senders' tokens, as they are shown."""
    told = json.loads((served[1].parent / "tokens.json").read_text())
    return {name: {"Authorization": f"Bearer {one}"} for name, one in told.items()}


def test_name_and_secret_let_a_person_in_where_they_wanted_to_go(served):
    form = urlencode({"name": "mara", "secret": "mara-secret", "next": "/lot?lot=L-1"})

    answer = Visitor(served[0]).post("/login", form)

    assert (answer.status, answer.headers["location"]) == (303, "/lot?lot=L-1")


@pytest.mark.parametrize(
    "where", ["https://evil.test/", "//evil.test", "/\\evil.test", "/\t/evil.test"]
)
def test_a_sign_in_leads_nowhere_else(served, where):
    form = urlencode({"name": "mara", "secret": "mara-secret", "next": where})

    assert Visitor(served[0]).post("/login", form).headers["location"] == "/"


def test_a_wrong_secret_lets_nobody_in_and_keeps_the_name_typed(served):
    answer = Visitor(served[0]).post("/login", urlencode({"name": "ma<b>ra", "secret": "x"}))

    assert (answer.status, answer.cookie) == (401, "")
    assert b'value="ma&lt;b&gt;ra"' in answer.body


def test_a_form_larger_than_any_is_not_read(served):
    assert Visitor(served[0]).post("/login", "name=" + "x" * 40_000).status == 401


def test_a_sign_in_cannot_be_sent_from_elsewhere(served):
    form = urlencode({"name": "mara", "secret": "mara-secret"})

    assert Visitor(served[0]).post("/login", form, Origin="http://evil.test").status == 403


def test_the_number_of_anothers_page_opens_a_new_page_while_theirs_is_open(mara, jonas):
    with mara.page() as hers:
        assert hers.look() == "Mara Quill mara looked 1 times"
        with jonas.page(session=hers.number) as his:
            assert his.look() == "Jonas Terrow jonas looked 1 times"
            assert his.number != hers.number
        assert hers.look() == "Mara Quill mara looked 2 times"


def test_the_number_of_anothers_page_opens_a_new_page_after_they_left(mara, jonas):
    with mara.page() as hers:
        hers.look()
    with jonas.page(session=hers.number) as his:
        assert his.look() == "Jonas Terrow jonas looked 1 times"

        assert his.number != hers.number


def test_a_broken_connection_comes_back_to_its_own_page(mara):
    with mara.page() as before:
        before.look()
    with mara.page(session=before.number) as after:
        assert after.look() == "Mara Quill mara looked 2 times"


def test_nobody_can_say_who_they_are(mara, jonas):
    with jonas.page(X_Lotheat_Person="mara") as page:
        assert page.look() == "Jonas Terrow jonas looked 1 times"
    with mara.page() as hers:
        hers.look()
    with jonas.page(session=hers.number, X_LOTHEAT_PERSON="mara") as his:
        assert his.look() == "Jonas Terrow jonas looked 1 times"


def test_a_click_after_the_sign_out_finds_nobody(mara):
    with mara.page() as tab:
        tab.look()
        mara.post("/logout")

        assert tab.look() == "nobody"


def test_the_next_person_in_the_same_browser_does_not_get_the_page_before(mara, served):
    with mara.page() as tab:
        tab.look()
    mara.post("/logout")
    next_one = signed_in(served[0], "jonas")

    with next_one.page(session=tab.number) as page:
        assert page.look() == "Jonas Terrow jonas looked 1 times"


def sensor(source_file, minute):
    return source_file("sensor", f"L-1,1,1,2026-03-04 08:{minute}:00,0.1,10,10,8.2,µmol/L")


def test_who_sends_is_told_by_the_token(served, source_file, token):
    program = Visitor(served[0])
    answer = program.ask("POST", f"{RECEIVE}?name=a.csv", sensor(source_file, 10), **token["good"])

    assert answer.status == 200
    assert json.loads(answer.body)["receipt"]["received_by"] == "balance 3"


def test_a_name_in_the_address_is_refused(served, source_file, token):
    answer = Visitor(served[0]).ask(
        "POST", f"{RECEIVE}?name=b.csv&by=Mara", sensor(source_file, 11), **token["good"]
    )

    assert answer.status == 400
    assert "told by the token" in json.loads(answer.body)["what"]


@pytest.mark.parametrize(
    ("path", "method", "which", "status"),
    [
        (BACKUP, "GET", "good", 200),
        (BACKUP, "GET", "narrow", 403),
        (BACKUP, "GET", "expired", 401),
        (f"{RECEIVE}?name=c.csv", "POST", "expired", 401),
        (STORE, "GET", "good", 401),
        (LINK, "POST", "good", 401),
        (f"{PEOPLE}/list", "POST", "good", 401),
        (VERIFY, "GET", "good", 200),
        (VERIFY, "GET", "narrow", 403),
    ],
)
def test_a_token_is_good_for_its_scope_and_its_time(served, token, path, method, which, status):
    assert (
        Visitor(served[0])
        .ask(method, path, b"" if method == "POST" else None, **token[which])
        .status
        == status
    )


@pytest.mark.parametrize("shown", ["{}", "Basic {}", "bearer: {}", "Bearer", "Bearer ", "Bearer x"])
def test_a_token_is_shown_as_a_bearers_or_not_at_all(served, token, shown):
    bare = token["good"]["Authorization"].removeprefix("Bearer ")

    assert Visitor(served[0]).get(BACKUP, Authorization=shown.format(bare)).status == 401


def test_a_session_is_no_token(mara):
    assert mara.get(BACKUP).status == 401
    assert mara.post(f"{RECEIVE}?name=d.csv").status == 401


def test_a_token_is_no_session(served, token):
    assert Visitor(served[0]).get("/lots", **token["good"]).status == 401


def test_a_page_elsewhere_cannot_use_a_token_either(served, token):
    answer = Visitor(served[0]).get(BACKUP, Origin="http://evil.test", **token["good"])
    sent = Visitor(served[0]).ask(
        "POST", f"{RECEIVE}?name=e.csv", b"x", Origin="http://evil.test", **token["good"]
    )

    assert sent.status == 403
    assert "access-control-allow-origin" not in answer.headers
