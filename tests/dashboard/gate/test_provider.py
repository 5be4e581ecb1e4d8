"""Sign-in and signatures at a provider on loopback, as its people and as its forgers would."""

import json
import shutil
import time
from urllib.parse import parse_qs, urlsplit

import httpx2
import pytest
from joserfc import jwt
from joserfc.errors import BadSignatureError
from joserfc.jwk import KeySet, RSAKey
from starlette.responses import Response

from tests.dashboard.gate.company import Company
from tests.dashboard.gate.trial_server import digest
from tests.dashboard.gate.visits import PAGE, Visitor, free_port, started


@pytest.fixture(scope="module")
def company():
    provider = Company(free_port())
    provider.start()
    yield provider
    provider.stop()


@pytest.fixture(autouse=True)
def _well_behaved(company):
    company.behave()


@pytest.fixture(scope="module")
def served(company, small_store_file, tmp_path_factory):
    store = tmp_path_factory.mktemp("company") / "lots.duckdb"
    shutil.copy(small_store_file, store)
    port = free_port()
    with started("tests.dashboard.gate.trial_server", port, store, company.metadata, port=port):
        yield f"http://127.0.0.1:{port}", store.parent


@pytest.fixture
def browser():
    with httpx2.Client(timeout=20, trust_env=False) as client:
        yield client


@pytest.fixture
def signed(served):
    """What was signed so far."""
    file = served[1] / "signed.json"
    return lambda: json.loads(file.read_text()) if file.exists() else []


def followed(browser, answer, user):
    """Go where a server sends, show the provider who one is if it asks, and come back."""
    answer = browser.get(answer.headers["location"])
    if answer.status_code == 200:
        form = {"user": user, "password": f"{user}-secret"}
        answer = browser.post(answer.url, data=form)
    return browser.get(answer.headers["location"])


def sign_in(browser, base, user="mara", where="/lot?lot=L-1"):
    return followed(browser, browser.get(f"{base}/login/provider", params={"next": where}), user)


def sign(browser, base, user, request):
    asked = browser.get(
        f"{base}/sign/provider", params={"request": request, "next": "/lot?lot=L-1"}
    )
    return followed(browser, asked, user)


def visitor(browser, base):
    port = urlsplit(base).port
    return Visitor(port, f"lotheat-{port}={browser.cookies.get(f'lotheat-{port}')}")


def test_the_sign_in_page_offers_the_company_and_remembers_the_way(browser, served):
    page = browser.get(f"{served[0]}/login", params={"next": "/lot?lot=L-1"}).text

    assert "Sign in with Fenland" in page
    assert "/login/provider?next=%2Flot%3Flot%3DL-1" in page


def test_a_person_comes_in_by_the_company_and_lands_where_they_wanted(browser, served, company):
    answer = sign_in(browser, served[0])

    assert (answer.status_code, answer.headers["location"]) == (303, "/lot?lot=L-1")
    assert company.asked[-1]["code_challenge_method"] == "S256"
    with visitor(browser, served[0]).page() as page:
        assert page.look() == f"Mara Quill {company.issuer}#u-mara looked 1 times"


def test_a_sign_out_holds_against_a_copied_cookie(browser, served):
    sign_in(browser, served[0])
    copied = visitor(browser, served[0])

    browser.post(f"{served[0]}/logout", headers={"Origin": served[0]})

    assert copied.get("/lots").status == 401
    assert copied.refused() == 401


@pytest.mark.parametrize(
    "forged",
    [
        "",
        "?code=x",
        "?state=x",
        "?code=x&state=y",
        "?error=access_denied",
        "?error=%3Cscript%3E&error_description=%3Cscript%3E&state=x",
        "?code=a&code=b&state=c&state=d",
        "?state=" + "x" * 5000,
        "?code=%00&state=%ff",
    ],
)
def test_a_forged_answer_is_told_on_a_page_and_lets_nobody_in(browser, served, forged):
    answer = browser.get(f"{served[0]}/login/done{forged}")

    assert answer.status_code == 400
    assert "The sign-in was not finished" in answer.text
    assert "<script" not in answer.text
    assert "set-cookie" not in answer.headers


def test_an_answer_asked_for_by_another_browser_lets_nobody_in(browser, served):
    begun = browser.get(f"{served[0]}/login/provider")
    at_company = browser.post(
        begun.headers["location"], data={"user": "mara", "password": "mara-secret"}
    )

    with httpx2.Client(trust_env=False) as victim:
        victim.get(f"{served[0]}/login/provider")
        assert victim.get(at_company.headers["location"]).status_code == 400


def test_an_answer_is_good_once(browser, served):
    begun = browser.get(f"{served[0]}/login/provider")
    at_company = browser.post(
        begun.headers["location"], data={"user": "mara", "password": "mara-secret"}
    )

    first, second = (browser.get(at_company.headers["location"]) for _ in range(2))

    assert (first.status_code, second.status_code) == (303, 400)


@pytest.mark.parametrize(("state", "code"), [("own", "invented"), ("invented", "own"), ("own", "")])
def test_a_changed_answer_lets_nobody_in(browser, served, state, code):
    begun = browser.get(f"{served[0]}/login/provider")
    query = parse_qs(urlsplit(begun.headers["location"]).query)
    shown = {"state": query["state"][0] if state == "own" else state, "code": code}

    assert browser.get(f"{served[0]}/login/done", params=shown).status_code == 400


@pytest.mark.parametrize(
    "claims",
    [
        {"nonce": "another"},
        {"nonce": None},
        {"aud": "another"},
        {"iss": "http://evil.test"},
        {"exp": 1},
        {"exp": "tomorrow"},
        {"sub": None},
        {"sub": 5},
        {"groups": "qa-lead"},
        {"groups": [{}]},
        {"name": ["Mara"]},
        {"auth_time": "now"},
    ],
    ids=str,
)
def test_a_token_that_is_not_for_this_or_is_odd_lets_nobody_in(browser, served, company, claims):
    company.claims = claims

    answer = sign_in(browser, served[0])

    assert answer.status_code == 400
    assert "set-cookie" not in {
        name for name in answer.headers if "lotheat-" in answer.headers[name]
    }
    assert visitor(browser, served[0]).get("/lots").status == 401


def test_a_token_signed_with_another_key_lets_nobody_in(browser, served, company):
    company.key = RSAKey.generate_key(2048, {"kid": "k1", "use": "sig"})

    assert sign_in(browser, served[0]).status_code == 400


@pytest.mark.parametrize(
    ("content", "status"),
    [
        ("<html>", 200),
        ("<html>", 500),
        ("[]", 200),
        ("null", 200),
        ("5", 200),
        ("{}", 200),
        ('{"access_token": "a"}', 200),
        ('{"access_token": "a", "id_token": 5}', 200),
        ('{"access_token": "a", "id_token": "a.b.c"}', 200),
        ('{"id_token": []}', 200),
        ('{"error": "server_error"}', 500),
    ],
)
def test_an_answer_that_is_no_token_lets_nobody_in(browser, served, company, content, status):
    company.breaks = Response(content, status, media_type="application/json")

    answer = sign_in(browser, served[0])

    assert answer.status_code in {400, 502}
    assert "The sign-in was not finished" in answer.text


def test_a_name_is_told_by_something_when_the_company_gives_none(browser, served, company):
    company.claims = {"name": None, "groups": None}

    sign_in(browser, served[0])

    with visitor(browser, served[0]).page() as page:
        assert page.look().startswith("mara@example.com ")


def test_a_signature_needs_a_session(browser, served):
    answer = browser.get(f"{served[0]}/sign/provider?request=R1", headers=PAGE)

    assert answer.headers["location"].startswith("/login?next=%2Fsign%2Fprovider")


def test_a_signature_has_the_company_ask_anew_about_exactly_what_is_signed(
    browser, served, company, signed
):
    sign_in(browser, served[0])

    answer = sign(browser, served[0], "mara", "R1")

    assert (answer.status_code, answer.headers["location"]) == (303, "/lot?lot=L-1")
    asked = company.asked[-1]
    assert (asked["prompt"], asked["max_age"], asked["nonce"]) == ("login", "0", digest("R1"))
    told = signed()[-1]
    assert (told["name"], told["request"], told["nonce"]) == ("Mara Quill", "R1", digest("R1"))
    assert time.time() - told["auth_time"] < 60


def test_what_was_kept_proves_person_time_and_record_without_the_company(browser, served, signed):
    sign_in(browser, served[0])
    sign(browser, served[0], "jonas", "R2")
    told = signed()[-1]
    keys = KeySet.import_key_set(json.loads(told["keys"]))

    claims = jwt.decode(told["id_token"], keys).claims

    assert (claims["sub"], claims["nonce"]) == ("u-jonas", digest("R2"))
    head, body, seal = told["id_token"].split(".")
    altered = body[:-2] + ("AA" if body[-2:] != "AA" else "BB")
    with pytest.raises(BadSignatureError):
        jwt.decode(f"{head}.{altered}.{seal}", keys)


def test_a_second_person_signs_in_the_same_browser_and_the_first_stays_signed_in(
    browser, served, company, signed
):
    sign_in(browser, served[0])
    before = visitor(browser, served[0])

    sign(browser, served[0], "guest", "R1")

    assert signed()[-1]["sub"] == "u-guest"
    with before.page() as page:
        assert page.look().startswith(f"Mara Quill {company.issuer}#u-mara")


def test_what_the_desk_refuses_is_told_and_not_signed(browser, served, signed):
    sign_in(browser, served[0])
    sign(browser, served[0], "jonas", "R1")
    before = len(signed())

    again = sign(browser, served[0], "jonas", "R1")
    unknown = browser.get(f"{served[0]}/sign/provider", params={"request": "R9"})

    assert (again.status_code, unknown.status_code) == (403, 403)
    assert "Nothing was signed" in again.text
    assert "The second person must be another" in again.text
    assert len(signed()) == before


@pytest.mark.parametrize(
    "claims",
    [{"auth_time": 1}, {"auth_time": None}, {"auth_time": 0}, {"nonce": digest("R2")}],
    ids=str,
)
def test_an_old_sign_in_or_one_for_another_record_signs_nothing(
    browser, served, company, signed, claims
):
    sign_in(browser, served[0])
    before, company.claims = len(signed()), claims

    answer = sign(browser, served[0], "mara", "R1")

    assert answer.status_code == 400
    assert len(signed()) == before


def test_a_company_that_does_not_ask_anew_signs_nothing(browser, served, company, signed):
    sign_in(browser, served[0])
    before, company.always_asks = len(signed()), False
    time.sleep(6.5)

    answer = sign(browser, served[0], "mara", "R1")

    assert answer.status_code == 400
    assert "did not ask anew" in answer.text
    assert len(signed()) == before


def test_a_silent_company_is_told_and_nothing_breaks(browser, small_store_file, tmp_path):
    store, port = tmp_path / "lots.duckdb", free_port()
    shutil.copy(small_store_file, store)
    nowhere = f"http://127.0.0.1:{free_port()}/.well-known/openid-configuration"

    with started("tests.dashboard.gate.trial_server", port, store, nowhere, port=port):
        answer = browser.get(f"http://127.0.0.1:{port}/login/provider")

    assert answer.status_code == 502
    assert "does not answer" in answer.text
