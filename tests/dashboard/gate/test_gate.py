"""`lotheat serve` as a stranger, a page elsewhere and another user of the machine meet it."""

import http.client
import shutil
import socket
import stat

import pytest

from dashboard.server import handover
from tests.dashboard.gate.visits import PAGE, Visitor, free_port, started
from tests.dashboard.typed import lotheat

UPLOAD = "/_stcore/upload_file/visit/file"


@pytest.fixture(scope="module")
def served(small_store_file, tmp_path_factory):
    """The port and the store of a running server."""
    store = tmp_path_factory.mktemp("gate") / "lots.duckdb"
    shutil.copy(small_store_file, store)
    port = free_port()
    with started("dashboard.command.lotheat", "serve", "--store", store, "--port", port, port=port):
        yield port, store


@pytest.fixture
def stranger(served):
    return Visitor(served[0])


def fresh_link(served):
    """The path of a fresh link."""
    running = handover.running(served[1])
    assert running is not None
    return handover.fresh_link(running).removeprefix(f"http://127.0.0.1:{served[0]}")


@pytest.fixture
def link(served):
    return fresh_link(served)


@pytest.fixture
def user(served, link):
    """The computer's user, signed in."""
    return Visitor(served[0], Visitor(served[0]).get(link).cookie)


def test_a_link_opens_once_and_a_wrong_one_never(stranger, link):
    wrong, right, again = (stranger.get(one) for one in (f"{link}x", link, link))

    assert (wrong.status, right.status, again.status) == (403, 303, 403)
    assert right.headers["location"] == "/"
    assert "HttpOnly" in right.headers["set-cookie"]
    assert "SameSite=lax" in right.headers["set-cookie"]
    assert again.cookie == ""


def test_a_program_that_only_looks_where_a_link_leads_does_not_use_it_up(stranger, link):
    assert stranger.ask("HEAD", link).status == 403
    assert stranger.get(link).status == 303


def test_a_newer_link_ends_the_one_before(served, stranger, link):
    newer = fresh_link(served)

    assert stranger.get(link).status == 403
    assert stranger.get(newer).status == 303


def test_the_command_prints_a_link_that_opens(served, stranger):
    told = lotheat("link", "--store", served[1])

    assert stranger.get(told.stdout.strip().partition(f":{served[0]}")[2]).status == 303


def test_a_page_leads_a_stranger_to_the_sign_in_and_remembers_where_they_wanted_to_go(stranger):
    answer = stranger.get("/lot?lot=R26-0142", **PAGE)

    assert answer.status == 303
    assert answer.headers["location"] == "/login?next=%2Flot%3Flot%3DR26-0142"


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/media/0123.pdf"),
        ("GET", "/_stcore/health"),
        ("GET", "/_stcore/host-config"),
        ("GET", "/lots"),
        ("GET", "/sign?request=1"),
        ("PUT", UPLOAD),
        ("DELETE", UPLOAD),
        ("POST", "/sign"),
    ],
)
def test_a_stranger_gets_no_file_and_leaves_none(stranger, method, path):
    assert stranger.ask(method, path, Origin=stranger.origin).status == 401


def test_a_stranger_gets_no_websocket(stranger):
    assert stranger.refused() == 401


@pytest.mark.parametrize(
    "cookie", ["", "wrong", "a;b=c", "x" * 6000, "\u00e4".encode().decode("latin-1")]
)
def test_an_invented_session_is_no_session(served, cookie):
    visitor = Visitor(served[0], f"lotheat-{served[0]}={cookie}")

    assert visitor.get("/lots").status == 401
    assert visitor.refused() == 401


@pytest.mark.parametrize("path", ["/", "/healthz", "/login", "/api/openapi.json", "/static/x.js"])
def test_a_name_made_to_point_here_gets_nothing(served, user, path):
    rebound = Visitor(served[0], user.cookie, host=f"evil.test:{served[0]}")

    answer = rebound.get(path)

    assert answer.status == 421
    assert b"lots.duckdb" not in answer.body


def test_a_name_made_to_point_here_gets_no_websocket(served, user):
    rebound = Visitor(served[0], user.cookie, host=f"evil.test:{served[0]}")

    assert rebound.refused() == 421


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost:1", "127.0.0.1:{port}.evil.test", ""])
def test_a_name_that_is_nearly_ours_is_not_ours(served, host):
    visitor = Visitor(served[0])
    visitor.host = host.format(port=served[0])

    assert visitor.get("/healthz").status in {400, 421}


def test_two_hosts_are_nobodys(served):
    head = f"GET /healthz HTTP/1.1\r\nHost: 127.0.0.1:{served[0]}\r\nHost: evil.test\r\n\r\n"
    with socket.create_connection(("127.0.0.1", served[0]), timeout=10) as connection:
        connection.sendall(head.encode())
        answer = http.client.HTTPResponse(connection)
        answer.begin()

    assert answer.status in {400, 421}


def test_both_names_of_this_machine_are_ours(served):
    assert Visitor(served[0], host=f"localhost:{served[0]}").get("/healthz").status == 200
    assert Visitor(served[0], host=f"LOCALHOST:{served[0]}").get("/healthz").status == 200


@pytest.mark.parametrize(
    "origin", ["http://evil.test", "null", "https://127.0.0.1:{port}", "http://localhost:{port}"]
)
@pytest.mark.parametrize("path", [UPLOAD, "/logout", "/login", "/sign"])
def test_a_page_elsewhere_cannot_send_anything(user, origin, path):
    other = origin.format(port=user.port)

    assert user.post(path, Origin=other).status == 403


def test_what_changes_something_says_where_it_comes_from(user):
    assert user.ask("POST", "/logout").status == 403
    assert user.ask("PUT", UPLOAD, b"x").status == 403


@pytest.mark.parametrize("origin", ["http://evil.test", "null", None])
def test_a_websocket_from_elsewhere_or_from_nowhere_is_refused(user, origin):
    assert user.refused(origin=origin) == 403


def test_the_user_comes_in(user):
    with user.page() as page:
        page.look()

        assert page.number

    assert user.get("/lots", **PAGE).status == 200


def test_a_sign_out_ends_the_session_in_every_tab_and_every_copy_of_the_cookie(user):
    with user.page() as tab:
        tab.look()
        out = user.post("/logout")

        assert (out.status, out.headers["location"]) == (303, "/login")
        tab.look()

    assert user.get("/lots").status == 401
    assert user.refused() == 401


@pytest.mark.parametrize(
    "path",
    [
        "/_stcore/metrics",
        "/_stcore/agent/openapi.json",
        "/_stcore/agent/interact",
        "/_stcore/agent/mcp",
        "/auth/login",
        "/oauth2callback",
        "/_stcore/script-health-check",
    ],
)
def test_doors_that_are_not_used_are_shut_for_everybody(user, path):
    assert user.get(path).status == 404


@pytest.mark.parametrize(
    "path", ["/", "/login", "/logout", "/healthz", "/_stcore/health", "/media/x", "/nowhere"]
)
def test_every_answer_keeps_foreign_scripts_and_frames_out(user, path):
    answer = user.get(path, **PAGE)

    policy = answer.headers.get_all("content-security-policy")[-1]
    assert "unsafe-eval" not in policy
    assert "script-src 'self' 'sha256-" in policy
    assert "'unsafe-inline'" not in policy.partition("script-src")[2].partition(";")[0]
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-frame-options"] == "DENY"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "same-origin"


def test_only_the_sign_page_may_stand_inside_another_page_of_ours(user):
    policy = user.get("/sign", **PAGE).headers["content-security-policy"]

    assert "frame-ancestors 'self'" in policy


def test_own_pages_carry_no_script_and_allow_none(stranger):
    answer = stranger.get("/login")

    own = answer.headers.get_all("content-security-policy")[0]
    assert own.startswith("default-src 'none'")
    assert b"<script" not in answer.body
    assert answer.headers["cache-control"] == "no-store"


def test_health_says_nothing_of_the_store(stranger):
    answer = stranger.get("/healthz")

    assert answer.body == b'{"ok":true}'


def test_what_the_command_writes_is_its_users_alone(source_file, tmp_path):
    store, copy = tmp_path / "lots.duckdb", tmp_path / "copy.duckdb"
    (tmp_path / "a.csv").write_bytes(
        source_file("sensor", "L-1,1,1,2026-03-04 08:10:00,0.1,10,10,8.2,µmol/L")
    )

    lotheat("receive", tmp_path / "a.csv", "--store", store)
    lotheat("backup", copy, "--store", store)

    assert [stat.S_IMODE(one.stat().st_mode) for one in (store, copy)] == [0o600, 0o600]


def test_nobody_signs_in_so_nobody_else_may_reach_it(tmp_path):
    everywhere = ("--address", "0.0.0.0")  # noqa: S104
    told = lotheat("serve", *everywhere, "--store", tmp_path / "lots.duckdb")

    assert told.returncode == 3
    assert "listens on this machine only" in told.stderr
    assert not (tmp_path / "lots.duckdb").exists()
