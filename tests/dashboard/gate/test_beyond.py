"""A server that people sign in to: over TLS that ends here, and behind a proxy that is named."""

import shutil
import ssl
import time
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from dashboard.server import handover
from tests.dashboard.gate.company import Company
from tests.dashboard.gate.visits import PAGE, Visitor, free_port
from tests.dashboard.typed import lotheat
from tests.forked import Forked

NAME = "lots.example.com"


@pytest.fixture(scope="module")
def company():
    provider = Company(free_port())
    provider.start()
    yield provider
    provider.stop()


def certificate(folder):
    """A certificate for the name that people type, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, NAME)])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(NAME)]), critical=False)
        .sign(key, hashes.SHA256())
    )
    (folder / "cert.pem").write_bytes(made.public_bytes(serialization.Encoding.PEM))
    (folder / "key.pem").write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )


def written(folder, company, reached):
    file = folder / "company.toml"
    file.write_text(
        f'''[provider]
name = "Fenland"
metadata = "{company.metadata}"
client = "lotheat"
secret = "s"
[provider.roles]
qa-lead = "administrator"
[reached]
{reached}
'''
    )
    file.chmod(0o600)
    return file


@contextmanager
def serving(store, file, port):
    """The running server, as it announces itself to the commands of its user."""
    words = ("serve", "--store", store, "--port", port, "--sign-in", file)
    process = Forked("dashboard.command.lotheat", *words)
    try:
        found = None
        while found is None:
            assert process.poll() is None, process.stderr.read()
            time.sleep(0.2)
            found = handover.running(store)
        yield found
    finally:
        process.stop()


def test_people_sign_in_over_tls_and_commands_still_hand_over(
    company, small_store_file, source_file, tmp_path
):
    store, port = tmp_path / "lots.duckdb", free_port()
    shutil.copy(small_store_file, store)
    certificate(tmp_path)
    at = f"https://{NAME}:{port}"
    file = written(tmp_path, company, f'at = "{at}"\ncertificate = "cert.pem"\nkey = "key.pem"')
    trusted = ssl.create_default_context(cafile=tmp_path / "cert.pem")
    trusted.check_hostname = False
    host = {"Host": f"{NAME}:{port}"}

    with (
        serving(store, file, port) as running,
        httpx2.Client(
            base_url=f"https://127.0.0.1:{port}", verify=trusted, headers=host
        ) as browser,
    ):
        row = "L-1,1,1,2026-03-04 08:10:00,0.1,10,10,8.2,µmol/L"
        receipt, _ = handover.hand_over(running, "a.csv", source_file("sensor", row), profile=None)
        begun = browser.get("/login/provider?next=/lots")
        back = httpx2.post(
            begun.headers["location"],
            data={"user": "mara", "password": "mara-secret"},
            trust_env=False,
        ).headers["location"]
        cookie = {"Cookie": begun.headers["set-cookie"].split(";")[0]}
        entered = browser.get(back.removeprefix(at), headers=host | cookie)
        here = browser.get("/lots", headers={"Host": f"127.0.0.1:{port}"} | PAGE)
        made = browser.get("/login/provider", headers={"Host": "evil.test"})

    assert receipt.stored == 1
    assert begun.headers["location"].startswith(company.issuer)
    assert back.startswith(f"{at}/login/done")
    assert entered.status_code == 303
    told = "; ".join(entered.headers.get_list("set-cookie"))
    assert "__Host-lotheat=" in told
    assert "Secure" in told
    assert f"wss://{NAME}:{port}" in entered.headers["content-security-policy"]
    assert (here.status_code, made.status_code) == (421, 421)


def test_behind_a_proxy_only_its_name_opens_and_programs_of_this_machine_still_do(
    company, small_store_file, tmp_path
):
    store, port = tmp_path / "lots.duckdb", free_port()
    shutil.copy(small_store_file, store)
    file = written(tmp_path, company, f'at = "https://{NAME}"\nproxy = "127.0.0.1"')

    with serving(store, file, port):
        through = Visitor(port, host=NAME)
        through.origin = f"https://{NAME}"
        page = through.get("/lots", X_Forwarded_For="203.0.113.9", **PAGE)
        sent = through.post("/logout")
        beside = Visitor(port).get("/lots", **PAGE)
        health = Visitor(port).get("/healthz")
        described = Visitor(port).get("/api/openapi.json")

    assert (page.status, sent.status) == (303, 200)
    assert (beside.status, health.status, described.status) == (421, 200, 200)


def test_someone_in_no_group_of_ours_is_not_let_in(company, small_store_file, tmp_path):
    store, port = tmp_path / "lots.duckdb", free_port()
    shutil.copy(small_store_file, store)
    file = written(tmp_path, company, "")

    with serving(store, file, port), httpx2.Client(trust_env=False) as browser:
        begun = browser.get(f"http://127.0.0.1:{port}/login/provider")
        back = browser.post(
            begun.headers["location"], data={"user": "guest", "password": "guest-secret"}
        )
        answer = browser.get(back.headers["location"])
        link = lotheat("link", "--store", store)

    assert answer.status_code == 403
    assert "none of their groups has a role" in answer.text
    assert link.returncode == 4
    assert "sign in to this server with their own names" in link.stderr
