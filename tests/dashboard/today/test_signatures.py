"""What waits for this person's signature, told in Today."""

from datetime import datetime

from dashboard.frame import signing_blocks, signing_words
from dashboard.today import blocks
from spc.store.people import Request, Signature
from tests.dashboard.page import EVIL, Page

AT = datetime(2026, 11, 20, 10, 12)  # noqa: DTZ001 - as the store keeps it: UTC


def signature(name, place=1, **facts):
    told = {"role": "QA officer", "way": "secret", "one_person": False, **facts}
    return Signature(
        signature=name,
        request="r",
        place=place,
        person=name,
        provider="",
        name=name,
        meaning="on hold",
        reason="conforms",
        sha256="",
        proven_at=AT,
        signed_at=AT,
        **told,
    )


def request(deed, *signatures, needs=2, **facts):
    told = {"meaning": "accepted under concession", "reason": "for the mild sauce", **facts}
    return Request(
        request="r",
        step=1,
        deed=deed,
        subject="R26-0140",
        about={},
        rests_on={},
        sha256="",
        needs=needs,
        asks="",
        asked_by="Mara Quill",
        asked_name="Mara Quill",
        asked_at=AT,
        ended="",
        ended_why="",
        ended_by="",
        signatures=signatures,
        **told,
    )


def test_who_is_asked_reads_who_asks_what_for_and_why_and_finds_the_lot():
    page = Page(signing_blocks.waiting(request("concede a lot", signature("Mara Quill"))))

    assert page.links == ["/lot?lot=R26-0140"]
    assert "accepted under concession: Mara Quill asks for a second signature." in page.text
    assert "for the mild sauce" in page.text
    assert "Mara Quill, QA officer, 20 November 2026, 10:12 UTC, by secret" in page.text


def test_what_one_person_did_says_so_wherever_it_is_shown():
    alone = signature("Mara Quill", one_person=True)
    done = request("issue a blend", alone, needs=1, meaning="issued")

    assert signing_words.signature(alone).endswith("by secret, one person")
    assert "to be countersigned" in Page(signing_blocks.waiting(done)).text
    assert signing_words.sign(done) == "Countersign…"


def test_who_held_a_lot_reads_who_released_it_and_why():
    hold = request("hold a lot", signature("Ines Valbo"), needs=1, reason="metal in bag 3")
    over = request(
        "release a lot over a hold", signature("Mara Quill"), signature("Jonas Terrow", 2)
    )

    page = Page(blocks.released([(hold, over)]))

    assert page.text == (
        "R26-0140: you held it (metal in bag 3); Mara Quill and Jonas Terrow released it on"
        " 20 November 2026, 10:12 UTC: for the mild sauce"
    )


def test_what_people_write_is_shown_as_they_wrote_it_and_never_run():
    one = request("concede a lot", signature(EVIL), reason=EVIL)

    for block in (signing_blocks.waiting(one), blocks.released([(one, one)])):
        page = Page(block)
        assert "script" not in page.tags
        assert EVIL in page.text


def test_what_became_of_a_signature_is_told_in_a_sentence():
    waits = request("concede a lot", signature("Mara Quill"))
    done = request("concede a lot", signature("Mara Quill"), signature("Ines Valbo", 2))

    assert "waits for a second person" in signing_words.told([waits])
    assert signing_words.told([done]) == (
        "Signed by Mara Quill and Ines Valbo: accepted under concession, R26-0140."
    )
    assert signing_words.told([done, done]).endswith("(2 records).")
