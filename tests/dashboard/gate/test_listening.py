"""Where a server may listen, what it answers to then, and the file that says so."""

import os
from pathlib import Path

import pytest

from dashboard.gate.listening import Listening, Reached, origin_of, permitted
from dashboard.gate.setup import read_setup
from spc.errors import ServerRefused

HERE = Path(__file__)
TLS = Reached(at="https://lots.example.com", certificate=HERE, key=HERE)
PROXY = Reached(at="https://lots.example.com/", proxy="10.0.0.5")
PROVIDER = """
[provider]
name = "Fenland"
metadata = "https://login.example.com/.well-known/openid-configuration"
client = "lotheat"
secret = "hush"

[provider.roles]
qa-lead = "QA lead"
"""


def written(path, text, mode=0o600):
    path.write_text(text, encoding="utf-8")
    path.chmod(mode)
    return path


@pytest.mark.parametrize("address", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_one_machine_needs_no_set_up(address):
    listening = Listening(address=address, port=1)

    assert permitted(listening, people_sign_in=False) == listening


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "10.0.0.7", "lots.example.com", ""])  # noqa: S104
def test_nothing_beyond_one_machine_while_nobody_signs_in(address):
    with pytest.raises(ServerRefused, match="this machine only"):
        permitted(Listening(address=address, port=1, reached=TLS), people_sign_in=False)


@pytest.mark.parametrize("reached", [TLS, PROXY])
def test_people_who_sign_in_over_tls_come_from_anywhere(reached):
    listening = Listening(address="0.0.0.0", port=1, reached=reached)  # noqa: S104

    assert permitted(listening, people_sign_in=True).base == "https://lots.example.com"
    assert listening.cookie.name == "__Host-lotheat"
    assert listening.cookie.secure


@pytest.mark.parametrize(
    ("reached", "why"),
    [
        (Reached(), "anybody can read"),
        (Reached(at="https://lots.example.com"), "anybody can read"),
        (Reached(at="http://lots.example.com", proxy="10.0.0.5"), "not the https:// address"),
        (Reached(at="lots.example.com", proxy="10.0.0.5"), "not the https:// address"),
        (Reached(at="https://lots.example.com/here", proxy="10.0.0.5"), "not the https"),
        (Reached(proxy="10.0.0.5"), "not the https:// address"),
        (Reached(at="https://a", certificate=HERE), "belong together"),
        (Reached(at="https://a", certificate=HERE, key=HERE / "no"), "no such file"),
    ],
)
def test_what_others_could_listen_to_is_refused_with_the_remedy(reached, why):
    listening = Listening(address="10.0.0.7", port=1, reached=reached)

    with pytest.raises(ServerRefused, match=why):
        permitted(listening, people_sign_in=True)


def test_a_proxy_on_the_same_machine_needs_its_name_too():
    with pytest.raises(ServerRefused, match="anybody can read"):
        permitted(
            Listening(port=1, reached=Reached(at="https://lots.example.com")), people_sign_in=True
        )


@pytest.mark.parametrize(
    ("typed", "origin"),
    [
        ("https://Lots.Example.com:443/", "https://lots.example.com"),
        ("https://lots.example.com:8443", "https://lots.example.com:8443"),
        ("https://[::1]:8443", "https://[::1]:8443"),
        ("https://user@lots.example.com", ""),
        ("https://lots.example.com?x", ""),
        ("https://lots.example.com:x", ""),
        ("ftp://lots.example.com", ""),
        ("", ""),
    ],
)
def test_an_address_is_read_as_browsers_write_it(typed, origin):
    assert origin_of(typed) == origin


def test_a_company_is_read_from_its_file(tmp_path):
    setup = read_setup(
        written(
            tmp_path / "in.toml", PROVIDER + '[reached]\nat = "https://a"\nproxy = "10.0.0.5"\n'
        )
    )

    assert setup.provider.roles == {"qa-lead": "QA lead"}
    assert setup.reached == Reached(at="https://a", proxy="10.0.0.5")
    assert "hush" not in repr(setup)


def test_the_secret_may_stand_in_the_environment(tmp_path):
    file = written(tmp_path / "in.toml", PROVIDER.replace('secret = "hush"\n', ""), 0o644)

    setup = read_setup(file, environment={"LOTHEAT_PROVIDER_SECRET": "kept"})

    assert setup.provider.secret == "kept"  # noqa: S105


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o666])
def test_a_secret_that_others_may_read_is_refused(tmp_path, mode):
    with pytest.raises(ServerRefused, match="others may read it"):
        read_setup(written(tmp_path / "in.toml", PROVIDER, mode))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("[provider", "no TOML"),
        ("[somebody]", "'somebody' is not known"),
        ("provider = 3", "no table"),
        (PROVIDER.replace("client", "cleint"), "knows no 'cleint'"),
        (PROVIDER.replace('client = "lotheat"', ""), "does not say its client"),
        (PROVIDER.replace('"lotheat"', "5"), "does not say its client"),
        (PROVIDER.replace("https://login", "http://login"), "does not begin with https"),
        (PROVIDER.replace('"QA lead"', "5"), "no table of names"),
        (PROVIDER + "[reached]\nat = 5\n", "is no text"),
    ],
)
def test_a_file_that_is_off_says_where_and_what(tmp_path, text, why):
    file = written(tmp_path / "in.toml", text)

    with pytest.raises(ServerRefused, match=why) as refused:
        read_setup(file, environment={})

    assert refused.value.where == str(file)
    assert refused.value.remedy


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(ServerRefused, match="No such file"):
        read_setup(tmp_path / "no.toml", environment=os.environ)
