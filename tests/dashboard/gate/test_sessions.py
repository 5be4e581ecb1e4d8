"""Sessions, tokens, doors and places, as values."""

from urllib.parse import urljoin, urlsplit

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from dashboard.gate.doors import Doors, Knock
from dashboard.gate.entrance import own_place
from dashboard.gate.headers import inline_hashes
from dashboard.gate.listening import Listening, Reached
from dashboard.gate.senders import OWN, Sender, Senders, fresh_token
from dashboard.gate.sessions import LONGEST_S, Sessions
from dashboard.gate.signed_in import SignedIn
from spc.errors import NotKnown

MARA = SignedIn(person="mara", name="Mara Quill", way="account")
PROXY = Listening(
    address="10.0.0.7", port=8501, reached=Reached(at="https://a.example", proxy="10.0.0.5")
)


class Clock:
    now = 0.0

    def __call__(self):
        return self.now


def knock(**told):
    usual = {"socket": False, "safe": True, "path": "/", "hosts": ("a.example",), "origins": ()}
    return Knock(**{**usual, "peer": "10.0.0.5", **told})


def test_a_session_ends_when_nobody_clicks():
    clock = Clock()
    sessions = Sessions(idle_s=1800, clock=clock)
    key = sessions.begin(MARA)
    clock.now = 1800
    assert sessions.who(key) == MARA
    clock.now = 3600
    assert sessions.who(key) == MARA

    clock.now = 5401
    assert sessions.who(key) is None


def test_a_session_ends_after_twelve_hours_however_busy():
    clock = Clock()
    sessions = Sessions(idle_s=1800, clock=clock)
    key = sessions.begin(MARA)
    while clock.now < LONGEST_S:
        assert sessions.who(key) == MARA
        clock.now += 900

    clock.now += 1
    assert sessions.who(key) is None


def test_no_session_key_is_kept():
    sessions = Sessions()
    key = sessions.begin(MARA)

    assert key not in repr(vars(sessions))


def test_the_servers_own_token_is_kept_as_a_hash_and_any_other_is_the_registers():
    def registered(token, deed):
        if (token, deed) != ("lh_bench", "receive files"):
            raise NotKnown("this token opens nothing.", remedy="Ask for one.")
        return Sender(name="Bench 2")

    own = fresh_token()
    senders = Senders(own, user="ines", registered=registered)

    assert own not in repr(vars(senders))
    assert {senders(own, deed).name for deed in (OWN, "back up")} == {"ines"}
    assert senders("lh_bench", "receive files").name == "Bench 2"
    for token, deed in (("lh_bench", "back up"), ("lh_bench", OWN), ("", OWN)):
        with pytest.raises(NotKnown):
            senders(token, deed)


@pytest.mark.parametrize(
    ("told", "for_programs", "status"),
    [
        ({}, False, None),
        ({"peer": "10.0.0.9"}, False, 403),
        ({"peer": "127.0.0.1"}, False, 403),
        ({"hosts": ("10.0.0.7:8501",), "peer": "10.0.0.7"}, False, 421),
        ({"hosts": ("10.0.0.7:8501",), "peer": "10.0.0.7"}, True, None),
        ({"hosts": ("10.0.0.7:8501",), "peer": "127.0.0.1"}, True, None),
        ({"hosts": ("10.0.0.7:8501",), "peer": "10.0.0.9"}, True, 421),
        ({"hosts": ("10.0.0.7:8501",), "peer": "10.0.0.7", "origins": ("x",)}, True, 421),
        ({"safe": False}, True, None),
        ({"safe": False, "origins": ("https://evil.test",)}, True, 403),
        ({"safe": False, "origins": ("https://a.example",)}, False, None),
        ({"safe": False, "origins": ("https://a.example", "https://a.example")}, False, 403),
        ({"hosts": ("a.example", "a.example")}, False, 421),
        ({"hosts": ()}, False, 421),
    ],
)
def test_behind_a_proxy_people_come_through_it_and_programs_from_this_machine(
    told, for_programs, status
):
    refusal = PROXY.doors.refusal(knock(**told), for_programs=for_programs)

    assert (refusal and refusal[0]) == status


def test_a_server_without_a_name_answers_to_nobody():
    doors = Doors(people={}, programs="", own="")

    assert doors.refusal(knock(hosts=("",)), for_programs=False)


@given(st.text(st.characters(max_codepoint=0x2FF), max_size=12).map("/".__add__) | st.text())
@example("/\\evil.test")
@example("//evil.test")
@example("/\t/evil.test")
@example("https://evil.test/")
@example("javascript:alert(1)")
def test_no_address_leads_to_another_server(address):
    found = own_place(address)

    # As browsers read it: without control characters, with backslashes as slashes.
    read = "".join(one for one in found if ord(one) > 31).replace("\\", "/")
    there = urlsplit(urljoin("https://lots.example.com/login", read))
    assert (there.scheme, there.netloc) == ("https", "lots.example.com")


def test_an_own_address_is_kept_whole():
    assert own_place("/lot?lot=R26-0142&x=%2F#top") == "/lot?lot=R26-0142&x=%2F#top"


def test_exactly_the_scripts_of_a_page_are_allowed():
    page = "<script>a()</script><script src=x></script><script type=module>b()</script>"

    first, second = inline_hashes(page)

    # From `printf 'a()' | openssl dgst -sha256 -binary | base64`.
    assert first == "'sha256-qVpDBgj7bpq5hMAcGp3AOc79J3Y1Z4HvySTwKrWDoy4='"
    assert second != first
