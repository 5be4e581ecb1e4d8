"""A company's people in the store's register: signed in, invited, signing, signed out."""

import hashlib
import html
import json
import re
import shutil
import threading
import time
from contextlib import contextmanager
from urllib.parse import parse_qs, urlsplit

import httpx2
import pytest
import uvicorn
from joserfc import jwt
from joserfc.jwk import KeySet
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.sessions import SessionMiddleware
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from typer.testing import CliRunner

from dashboard.command.lotheat import app
from dashboard.frame import session
from dashboard.gate import at_provider
from dashboard.gate.headers import Headers
from dashboard.gate.layer import Gate
from dashboard.gate.listening import Listening
from dashboard.gate.setup import ProviderSettings
from dashboard.server.company import for_company
from dashboard.signing import words
from dashboard.signing.page import SigningPage
from spc.errors import NotKnown
from spc.store import Store
from spc.store.people import NEEDS_TWO, Entry
from tests.dashboard.gate.company import Company
from tests.dashboard.gate.visits import PAGE, free_port

ROLES = {"qa-lead": "QA lead", "keepers": "administrator", "qa": "QA officer"}


@pytest.fixture(scope="module")
def company():
    provider = Company(free_port())
    provider.start()
    yield provider
    provider.stop()


@pytest.fixture(autouse=True)
def _well_behaved(company):
    company.behave()


@contextmanager
def serving(store, company, roles):
    """The address of the gate, with a page of its own behind it."""
    listening = Listening(port=free_port())
    settings = ProviderSettings(
        name="Fenland",
        metadata=company.metadata,
        client="lotheat",
        secret="s",  # noqa: S106 - of a provider that lives as long as a test
        roles=roles,
    )
    served = for_company(listening, settings, store)
    entrance = served.entrance
    page = Route("/{rest:path}", lambda request: PlainTextResponse(request.url.path))
    gate = Middleware(
        Gate, doors=listening.doors, entrance=entrance, headers=Headers(""), programs=()
    )
    served_app = Starlette(
        routes=[
            *entrance.open_routes(),
            *entrance.inner_routes(),
            *SigningPage(cookie=entrance.cookie).routes(),
            page,
        ],
        middleware=[Middleware(SessionMiddleware, secret_key="s"), gate],  # noqa: S106
    )
    config = uvicorn.Config(
        served_app, host="127.0.0.1", port=listening.port, log_level="warning", ws="none"
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield listening.base
    finally:
        server.should_exit = True
        thread.join()


@pytest.fixture(scope="module")
def house(company, small_store_file, tmp_path_factory):
    """A store whose roles are the company's groups', where two reject a lot; and its address."""
    path = tmp_path_factory.mktemp("house") / "lots.duckdb"
    with (
        Store.open(shutil.copy(small_store_file, path)) as store,
        serving(store, company, ROLES) as base,
    ):
        store.people.set_rule(
            NEEDS_TWO,
            ["reject a lot"],
            by=store.people.system_user(),
            reason="a small house",
        )
        yield store, base


@pytest.fixture
def browser(house):
    with Browser(house[1]) as opened:
        yield opened


class Browser(httpx2.Client):
    """Somebody's browser at one server and at the company."""

    def __init__(self, base):
        super().__init__(timeout=20, trust_env=False)
        self.base = base

    def go(self, place, user):
        """Go where a server sends, show the company who one is if it asks, and come back."""
        sent = self.get(self.base + place)
        there = self.get(sent.headers["location"])
        if there.status_code == 200:
            form = {"user": user, "password": f"{user}-secret"}
            there = self.post(there.url, data=form)
        return self.get(there.headers["location"])

    def sign_in(self, user):
        return self.go("/login/provider?next=/lots", user)

    @property
    def key(self):
        """The key of the session."""
        return self.cookies.get(f"lotheat-{urlsplit(self.base).port}")


def asked(store, key, decision="on hold", lot="L-1"):
    """A decision that waits for the signature of whose session this is."""
    by = store.people.session(key)
    return store.ask_decision(lot, decision, by=by, reason="the bags are wet")


def test_the_register_says_who_signed_in_and_its_groups_what_they_may(house, browser):
    store, _ = house

    answer = browser.sign_in("mara")

    assert (answer.status_code, answer.headers["location"]) == (303, "/lots")
    actor = store.people.who(store.people.session(browser.key))
    assert (actor.name, actor.roles) == ("Mara Quill", ("QA lead", "administrator"))
    assert not store.people.alone
    assert store.verify().ok


def test_a_session_outlives_the_server(house, company, browser):
    browser.sign_in("mara")

    with serving(house[0], company, ROLES) as other:
        port = urlsplit(other).port
        told = {"Cookie": f"lotheat-{port}={browser.key}"}

        assert httpx2.get(f"{other}/lots", headers=told | PAGE).text == "/lots"


def test_nobody_without_a_role_comes_in_and_is_told_what_to_ask_for(browser):
    browser.sign_in("mara")

    answer = browser.sign_in("guest")

    # The company still knows Mara in this browser, so it did not ask.
    assert answer.status_code == 303
    with Browser(browser.base) as other:
        refused = other.sign_in("guest")
    assert refused.status_code == 403
    assert "none of their groups has a role" in refused.text
    assert other.key is None


def test_what_the_file_says_of_roles_counts_only_until_somebody_has_an_account(
    house, company, browser, caplog
):
    store, _ = house
    browser.sign_in("mara")

    with (
        serving(store, company, {"canteen": "administrator"}) as base,
        Browser(base) as other,
    ):
        refused = other.sign_in("guest")

    assert refused.status_code == 403
    assert store.people.groups() == {company.issuer: ROLES}
    assert "is not what counts here" in caplog.text


def test_an_administrator_makes_the_files_groups_the_rule_of_the_house(
    company, small_store_file, tmp_path
):
    path, file = tmp_path / "lots.duckdb", tmp_path / "company.toml"
    shutil.copy(small_store_file, path)
    file.write_text(
        f'[provider]\nname = "Fenland"\nmetadata = "{company.metadata}"\nclient = "lotheat"\n'
        'secret = "s"\n[provider.roles]\nqa = "QA officer"\n'
    )
    file.chmod(0o600)
    words = ["people", "groups", str(file), "--reason", "a new group", "--store", str(path)]

    done = CliRunner().invoke(app, words)

    assert done.exit_code == 0, done.output
    with Store.open(path) as store:
        assert store.people.groups() == {company.issuer: {"qa": "QA officer"}}
    file.write_text(file.read_text().replace("QA officer", "boss"))
    assert "knows no role 'boss'" in str(CliRunner().invoke(app, words).exception)


def test_a_decision_is_signed_at_the_company_and_its_proof_is_kept(house, browser, company):
    store, base = house
    browser.sign_in("mara")
    request = asked(store, browser.key)

    answer = browser.go(at_provider.address([request.request]), "mara")

    assert (answer.status_code, answer.headers["location"]) == (
        303,
        f"/sign?request={request.request}",
    )
    told = company.asked[-1]
    assert (told["prompt"], told["max_age"], told["nonce"]) == ("login", "0", request.sha256)
    assert store.lot("L-1").decision == "on hold"
    (signature,) = store.signing.one(request.request).signatures
    assert (signature.name, signature.way) == ("Mara Quill", "provider")
    with store._read() as cursor:
        ((material,),) = cursor.execute(
            "select material from signature where signature = ?", [signature.signature]
        ).fetchall()
    kept = json.loads(material)
    keys = KeySet.import_key_set(json.loads(kept["keys"]))
    claims = jwt.decode(kept["id_token"], keys).claims
    assert (claims["sub"], claims["nonce"]) == ("u-mara", request.sha256)
    assert store.verify().ok
    assert base == browser.base


def test_the_page_of_a_signature_leads_to_the_company_and_asks_no_secret(
    house, browser, company, monkeypatch
):
    """For who came in by it: what is shown there is what the company is asked to sign along."""
    store, base = house
    monkeypatch.setattr(session, "_HELD", [store])
    monkeypatch.setattr(at_provider, "_HELD", ["Fenland"])
    browser.sign_in("mara")
    request = asked(store, browser.key)

    page = browser.get(f"{base}{at_provider.place([request.request])}").text
    (way,) = re.findall(r'<a class="button" target="_blank" href="([^"]*)">Sign with Fenland', page)
    answer = browser.go(html.unescape(way), "mara")

    assert "You sign as Mara Quill" in page
    assert "Your secret" not in page
    assert company.asked[-1]["nonce"] == request.sha256
    assert store.signing.one(request.request).complete
    done = browser.get(f"{base}{answer.headers['location']}").text
    assert words.DONE in done
    assert "Sign with" not in done


def test_a_typed_secret_signs_nothing_where_people_sign_at_the_company(house, browser, monkeypatch):
    store, base = house
    monkeypatch.setattr(session, "_HELD", [store])
    monkeypatch.setattr(at_provider, "_HELD", ["Fenland"])
    browser.sign_in("mara")
    request = asked(store, browser.key)

    answer = browser.post(
        f"{base}{at_provider.place([request.request])}",
        data={"secret": "mara-secret"},
        headers={"Origin": base},
    )

    assert answer.status_code >= 400
    assert store.signing.one(request.request).signatures == ()


def test_several_are_signed_with_one_sign_in(house, browser, company):
    store, _ = house
    browser.sign_in("mara")
    requests = [asked(store, browser.key, lot=lot) for lot in ("L-1", "L-2")]
    ids = [one.request for one in requests]

    browser.go(at_provider.address(ids), "mara")

    assert [store.lot(lot).decision for lot in ("L-1", "L-2")] == ["on hold", "on hold"]
    together = hashlib.sha256("\n".join(one.sha256 for one in requests).encode()).hexdigest()
    assert company.asked[-1]["nonce"] == together


def test_another_person_who_signs_in_there_signs_only_where_a_second_one_is_asked(house, browser):
    store, _ = house
    with Browser(browser.base) as his:
        his.sign_in("jonas")
    browser.sign_in("mara")
    request = asked(store, browser.key, "rejected", "L-2")
    first, second = (at_provider.address([request.request], second=two) for two in (False, True))

    wrong = browser.go(first, "jonas")
    browser.go(first, "mara")
    herself = browser.go(second, "mara")
    waiting = store.signing.one(request.request).state
    him = browser.go(second, "jonas")

    assert (wrong.status_code, herself.status_code, him.status_code) == (403, 403, 303)
    assert "somebody else signed in there" in wrong.text
    assert "A second person must sign it." in herself.text
    assert waiting == "waiting"
    done = store.signing.one(request.request)
    assert [one.name for one in done.signatures] == ["Mara Quill", "Jonas Terrow"]
    assert store.lot("L-2").decision == "rejected"
    assert store.people.who(store.people.session(browser.key)).name == "Mara Quill"


def test_a_person_unknown_here_signs_nothing_as_the_second(house, browser):
    store, _ = house
    browser.sign_in("mara")
    request = asked(store, browser.key, "rejected")
    browser.go(at_provider.address([request.request]), "mara")

    answer = browser.go(at_provider.address([request.request], second=True), "petra")

    assert answer.status_code == 403
    assert "obody here is known by the identity" in answer.text
    assert store.signing.one(request.request).state == "waiting"


def test_a_request_that_is_not_there_is_told(browser):
    browser.sign_in("mara")

    for place in ("/sign/provider?request=R9", "/sign/provider"):
        answer = browser.get(browser.base + place)

        assert answer.status_code == 403
        assert "Nothing was signed" in answer.text


def test_a_link_from_elsewhere_leads_to_what_is_to_be_signed_and_not_past_it(browser, company):
    browser.sign_in("mara")
    before = len(company.asked)

    answer = browser.get(
        f"{browser.base}/sign/provider?request=R1", headers={"Sec-Fetch-Site": "cross-site"}
    )

    assert answer.headers["location"] == "/sign?request=R1"
    assert len(company.asked) == before


def test_a_sign_out_ends_the_session_and_shows_the_way_out_of_the_companys(house, browser, company):
    store, base = house
    browser.sign_in("mara")
    key = browser.key

    answer = browser.post(f"{base}/logout", headers={"Origin": base})

    assert answer.status_code == 200
    with pytest.raises(NotKnown):
        store.people.who(store.people.session(key))
    out = answer.text.split('href="')[-1].split('"')[0].replace("&amp;", "&")
    assert out.startswith(f"{company.issuer}/end?")
    assert parse_qs(urlsplit(out).query) == {
        "client_id": ["lotheat"],
        "post_logout_redirect_uri": [f"{base}/login"],
    }
    assert browser.get(out).headers["location"] == f"{base}/login"


def test_whoever_was_invited_joins_with_the_companys_identity(company, small_store_file, tmp_path):
    path = shutil.copy(small_store_file, tmp_path / "lots.duckdb")
    entry = Entry(name="Petra Lind", sign_in="petra", roles=("administrator",))
    with Store.open(path) as store, serving(store, company, {}) as base, Browser(base) as browser:
        code = store.people.invite(entry, by=store.people.system_user(), reason="joins")
        page = browser.get(f"{base}/join/{code}").text
        stranger = browser.sign_in("petra").status_code
        joined = browser.go(f"/join/{code}/provider", "petra")
        spent = browser.get(f"{base}/join/{code}").status_code
        again = browser.sign_in("petra")
        actor = store.people.who(store.people.session(browser.key))

    assert "Welcome, Petra Lind" in page
    assert f"/join/{code}/provider" in page
    assert (stranger, joined.status_code, spent, again.status_code) == (403, 303, 403, 303)
    assert (actor.name, actor.provider) == ("Petra Lind", f"{company.issuer}#u-petra")
