import pytest

from spc.errors import InvalidInput, UnknownName
from tests.staff import ME

LETTER = "Reklamation – Bitte prüfen\n".encode()


def test_a_letter_is_kept_with_its_lot_byte_for_byte(small_store):
    key = small_store.attach("L-1", name="letter.txt", content=LETTER, note="claim", by=ME)

    shown = small_store.attachments("L-1")
    assert shown[["name", "note", "size"]].to_numpy().tolist() == [
        ["letter.txt", "claim", len(LETTER)]
    ]
    assert small_store.attachment_bytes(key) == ("letter.txt", LETTER)
    assert small_store.audit("L-1")["action"].iloc[0] == "attached a file"
    assert small_store.verify().ok


@pytest.mark.parametrize(
    ("fault", "error", "what"),
    [
        ({"content": b""}, InvalidInput, "empty or larger than 25 MB"),
        ({"content": bytes(25_000_001)}, InvalidInput, "empty or larger than 25 MB"),
        ({"lot": "L-99"}, UnknownName, "no lot"),
    ],
)
def test_what_cannot_be_attached_is_refused_in_words(small_store, fault, error, what):
    said = {"lot": "L-1", "name": "a.txt", "content": b"a", "note": "", "by": ME} | fault

    with pytest.raises(error, match=what):
        small_store.attach(said.pop("lot"), **said)

    assert small_store.attachments("L-1").empty


def test_an_attachment_that_is_not_there_is_said_to_be_unknown(small_store):
    with pytest.raises(UnknownName, match="no attachment"):
        small_store.attachment_bytes("x")
