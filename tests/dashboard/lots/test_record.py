"""The record of a lot shows what is on record, all of it, and the same every time."""

import dataclasses
import os
import re
import shutil
import subprocess
import sys
from datetime import UTC, datetime, timedelta, timezone

import pandas as pd
import pytest

from dashboard.frame.words import CAUTIONS, HANDLING
from dashboard.lots.paper import lot_record
from spc.acceptance import verdict
from spc.answers.lots import record_of_lot
from tests.staff import enter, ines, mara

PRINTED = datetime(2026, 11, 24, 14, 5)  # noqa: DTZ001 - UTC without zone, as the store keeps it
NASTY = (
    'µ ñ <script>alert(1)</script> #1 *x* _y_ [z] $m$ `c` @ref //c \\n ~ "q"'
    ' #read("/etc/passwd") 1\N{NARROW NO-BREAK SPACE}234'
)
HASH = 7  # the place of an entry's hash among its columns
LONG = "R26-" + "0123456789ABCDEF" * 8


def squeezed(text):
    """Without blanks: a page breaks lines where it likes."""
    return re.sub(r"\s", "", text)


@pytest.fixture(scope="session")
def poppler():
    """Runs one of poppler's tools on a PDF; Debian's package is installed when there is none."""
    if not shutil.which("pdftotext"):
        if not (shutil.which("apt-get") and os.geteuid() == 0):
            pytest.skip("pages are read with poppler (Debian: apt-get install poppler-utils)")
        sys.stderr.write("\ninstalling poppler-utils from Debian's packages\n")
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for words in (["update"], ["install", "-y", "--no-install-recommends", "poppler-utils"]):
            subprocess.run(
                ["apt-get", "-qq", *words], check=True, env=quiet, stdout=subprocess.DEVNULL
            )

    def run(tool, pdf, *options):
        command = [tool, *options, "-", *(["-"] if tool == "pdftotext" else [])]
        return subprocess.run(command, input=pdf, capture_output=True, check=True).stdout.decode()

    return run


@pytest.fixture(scope="session")
def words(poppler):
    """All text of a PDF, its blanks as single spaces."""

    def read(pdf):
        return " ".join(poppler("pdftotext", pdf).split())

    return read


@pytest.fixture(scope="session")
def record(demo_store):
    """Of a lot that cannot be settled on the evidence there is."""
    return record_of_lot(demo_store, "R26-0140", printed_by="Mara Quill", printed_at=PRINTED)


@pytest.fixture(scope="session")
def printed(record):
    return lot_record(record)


def test_the_same_record_gives_the_same_bytes(record, printed):
    again = lot_record(record)

    assert printed.startswith(b"%PDF")
    assert again == printed


def test_the_record_says_what_was_delivered_and_what_the_evidence_says(record, printed, words):
    text = words(printed)

    lot, judged = record.lot, record.verdict
    for told in (lot.lot, lot.material, lot.supplier, lot.supplier_lot, judged.sentence):
        assert " ".join(told.split()) in text
    assert f"version {judged.specification.version}" in text
    assert judged.specification.approved_by in text


def test_every_line_stands_with_its_reason_and_the_source_of_its_limits(record, printed, words):
    text = squeezed(words(printed))

    for one in record.verdict.lines:
        assert squeezed(f"{one.line.characteristic} {one.outcome}") in text
        assert squeezed(one.reason) in text
        assert squeezed(one.line.source) in text


def test_every_page_is_numbered_and_names_the_lot_and_the_moment(printed, poppler):
    pages = poppler("pdftotext", printed).split("\f")[:-1]

    count = len(pages)
    assert re.search(rf"Pages:\s+{count}\b", poppler("pdfinfo", printed))
    assert count > 1
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {count}" in page
        assert "Lot R26-0140 · printed 24 November 2026, 14:05 UTC by Mara Quill" in page


def test_the_pages_are_vectors_in_one_typeface(printed, poppler):
    images = poppler("pdfimages", printed, "-list").splitlines()[2:]
    fonts = [line.split() for line in poppler("pdffonts", printed).splitlines()[2:]]

    assert images == []
    assert {re.sub(r"^[A-Z]{6}\+", "", font[0]) for font in fonts} == {
        "Asap-Regular",
        "Asap-SemiBold",
    }
    assert all(font[-5] == "yes" for font in fonts), "not embedded"


def test_every_reading_is_there_with_its_file_and_row(record, printed, words):
    text = squeezed(words(printed))

    for row in record.results.to_dict("records"):
        assert squeezed(row["file"]) in text
        assert squeezed(f"{row['reading_text']} {row['reading_unit']}") in text
        assert row["sample"] in text
    assert "µmol/L" in text


def test_a_calculation_can_be_checked_by_hand(printed, words):
    text = words(printed)

    for step in ("× 305.418 g/mol (capsaicin)", "× 20 (dilution in the cell)", "155 544"):
        assert step in text


def test_the_figures_to_audit_are_the_stores_own(demo_store, record, printed, words, contents):
    text = squeezed(words(printed))

    newest = max(contents(demo_store)["audit"])
    assert record.head == (newest[0], newest[HASH])
    assert newest[HASH] in text
    line = f"2026-11-24T14:05:00Z entries {newest[0]} head {newest[HASH]}"
    assert squeezed(line) in text
    assert demo_store.against(line).faults == []
    for row in record.sources.to_dict("records"):
        assert row["sha256"] in text
    for row in record.audit.to_dict("records"):
        assert row["hash"][:16] in text


def test_the_cautions_are_printed(printed, words):
    text = words(printed)

    assert CAUTIONS in text
    assert HANDLING in text


def test_rows_that_wait_at_intake_are_printed_as_they_came(demo_store, words):
    record = record_of_lot(demo_store, "R26-0143", printed_by="Mara Quill", printed_at=PRINTED)

    text = words(lot_record(record))

    assert len(record.held) == 12
    assert "2026-11-17_sensor_late.csv" in text
    assert "The extract dilution is 1 mL/g" in text
    assert squeezed("Portion g: 1.000 · Buffer mL: 1.0") in squeezed(text)


def test_a_signal_is_printed_with_the_stream_it_stands_in(demo_store, words):
    record = record_of_lot(demo_store, "R26-0139", printed_by="Mara Quill", printed_at=PRINTED)

    text = words(lot_record(record))

    assert "Lot R26-0139 is unusual: beyond limits" in text
    assert "aflatoxin B1 by liquid chromatography" in text
    assert next(one.key.characteristic for one in record.streams) == "heat"


@pytest.fixture
def signed_store(small_store, source_file):
    """Lot L-1 with readings of which one is void, a draw, an attachment and a decision."""
    rows = [
        f"L-1,{bag},1,2026-03-04 10:00:00,0.1,10,10,{4 + bag / 100},µmol/L" for bag in (1, 2, 3)
    ]
    enter(small_store, "mara", "ines")
    small_store.receive_bytes("s.csv", source_file("sensor", *rows), by=ines(small_store))
    first = small_store.results("L-1").query("method == 'rapid sensor'")["result"].iloc[0]
    small_store.invalidate(
        first, cause="the cell was cracked", by=ines(small_store), second=mara(small_store)
    )
    small_store.draw("L-1", count=3, seed=7, convention="square root", by=ines(small_store))
    small_store.attach(
        "L-1", name="letter.pdf", content=b"%PDF", note="as sent", by=ines(small_store)
    )
    small_store.dispose("L-1", "on hold", by=ines(small_store), reason="aflatoxin is not in yet")
    return small_store


def test_what_people_did_stands_with_their_names_and_reasons(signed_store, words):
    record = record_of_lot(signed_store, "L-1", printed_by="Mara Quill", printed_at=PRINTED)

    text = words(lot_record(record))

    for told in (
        "Decided: on hold by Ines Valbo (QA officer)",
        "aflatoxin is not in yet",
        f"The evidence when it was signed: {record.verdict.sentence}",
        "by secret",
        "signed: on hold",
        "the cell was cracked",
        "Ines Valbo, with Mara Quill",
        "letter.pdf",
        "for square root",
    ):
        assert " ".join(told.split()) in text


def test_a_corrected_result_is_printed_beside_the_one_it_replaced(signed_store, source_file, words):
    otherwise = source_file("sensor", "L-1,2,1,2026-03-04 10:00:00,0.1,10,10,4.37,µmol/L")
    receipt = signed_store.receive_bytes("later.csv", otherwise, by=ines(signed_store)).receipt
    signed_store.intake.correct(
        receipt,
        signed_store.held(receipt)["source_row"].tolist(),
        reason="the dilution was typed wrongly",
        by=ines(signed_store),
        second=mara(signed_store),
    )
    record = record_of_lot(signed_store, "L-1", printed_by="Mara Quill", printed_at=PRINTED)

    text = words(lot_record(record))

    _, after = text.split("Results corrected")
    assert after.index("4.02 µmol/L") < after.index("4.37 µmol/L")
    assert "the dilution was typed wrongly" in " ".join(after.split())


def test_a_decision_that_was_wrong_stays_and_what_waits_is_on_page_one(signed_store, poppler):
    wrong = signed_store.dispositions("L-1")["disposition"].iloc[-1]
    signed_store.correct_decision(
        wrong,
        "rejected",
        by=ines(signed_store),
        second=mara(signed_store),
        reason="it was another lot that was meant",
    )
    again = signed_store.dispositions("L-1")["disposition"].iloc[-1]
    request = signed_store.ask_correction(
        again, "on hold", by=ines(signed_store), reason="it was this one after all"
    )
    signed_store.signing.sign(request.request, by=ines(signed_store))
    record = record_of_lot(signed_store, "L-1", printed_by="Mara Quill", printed_at=PRINTED)

    first, *_ = poppler("pdftotext", lot_record(record)).split("\f")

    page = " ".join(first.split())
    for told in (
        "Decided: rejected by Ines Valbo (QA officer), with Mara Quill",
        "on hold: waits for a second person; until then the lot stays as it was.",
        "it was this one after all",
        "aflatoxin is not in yet",
        "This decision was found wrong and counts no longer.",
        "It stands in the place of a decision that was found wrong.",
        "Mara Quill, QA lead",
        "Signed under version 1 of the specification",
    ):
        assert told in page


def test_a_concession_stands_with_its_scope_its_end_and_its_second_person(record, words):
    decided = pd.DataFrame(
        [
            {
                "decision": "accepted under concession",
                "decided_by": "Ines Valbo",
                "role": "QA manager",
                "reason": "milder than agreed",
                "second_person": "Jonas Terrow",
                "scope": "sauce base only",
                "expires_on": "2027-01-31",
                "decided_at": pd.Timestamp("2026-11-20 10:11"),
                "evidence": "",
                "disposition": "d",
                "request": "",
                "corrects": "",
                "superseded_by": "",
                "how": "typed, not signed in",
            }
        ]
    )

    text = words(lot_record(dataclasses.replace(record, dispositions=decided)))

    assert "by Ines Valbo (QA manager), with Jonas Terrow, 20 November 2026, 10:11 UTC" in text
    assert "For sauce base only until 2027-01-31." in text
    assert "Typed, not signed in." in text


def test_nothing_in_the_data_is_taken_for_markup(record, words):
    lot = dataclasses.replace(record.lot, supplier=NASTY, supplier_lot=LONG)
    results = record.results.assign(operator=NASTY)
    nasty = dataclasses.replace(record, lot=lot, results=results, printed_by="O'Ñandú *b* #x")

    text = squeezed(words(lot_record(nasty)))

    assert text.count(squeezed(NASTY)) >= 2
    assert LONG in text
    assert squeezed("by O'Ñandú *b* #x") in text


def test_a_lot_number_of_any_length_is_printed_in_full(record, poppler):
    def renamed(frame):
        return frame.assign(lot=frame["lot"].replace(record.lot.lot, LONG))

    long = dataclasses.replace(
        record,
        lot=dataclasses.replace(record.lot, lot=LONG),
        streams=tuple(
            dataclasses.replace(one, points=renamed(one.points), signals=renamed(one.signals))
            for one in record.streams
        ),
    )

    first, *_ = poppler("pdftotext", lot_record(long)).split("\f")

    assert squeezed(first).startswith(f"LotrecordLot{LONG}")


def test_signs_that_no_page_can_carry_are_shown_as_unknown(record, words):
    lot = dataclasses.replace(record.lot, lot="L\x00-\u202e1", supplier="A\ud800\x07")
    streams = tuple(
        dataclasses.replace(
            one, points=one.points.assign(lot=one.points["lot"].replace("R26-0140", lot.lot))
        )
        for one in record.streams
    )

    text = words(lot_record(dataclasses.replace(record, lot=lot, streams=streams)))

    assert "Lot L�-�1" in text


def test_many_readings_run_over_pages_under_a_repeated_head(record, poppler):
    many = pd.concat([record.results] * 10, ignore_index=True).head(200)
    many["sample"] = [f"S{place:03}" for place in range(len(many))]

    pages = poppler("pdftotext", lot_record(dataclasses.replace(record, results=many))).split("\f")

    holding = [page for page in pages if re.search(r"S\d{3}\b", page)]
    assert len(set(re.findall(r"S\d{3}\b", "".join(pages)))) == 200
    assert len(holding) > 2
    assert all("reading as it came" in page for page in holding[1:])


def test_a_lot_without_results_has_a_record_too(record, words):
    empty = dataclasses.replace(
        record,
        verdict=verdict([], record.verdict.specification),
        results=record.results.head(0),
        streams=(),
        calculations=(),
    )

    text = words(lot_record(empty))

    assert "No result of this lot has been received." in text
    assert "No result of this lot can be charted yet." in text
    assert "heat no result" in text


def test_a_moment_in_another_zone_is_printed_in_utc(record, words):
    east = datetime(2026, 11, 25, 0, 30, tzinfo=timezone(timedelta(hours=2)))

    text = words(lot_record(dataclasses.replace(record, printed_at=east)))

    assert "printed 24 November 2026, 22:30 UTC" in text
    assert east.astimezone(UTC).day == 24
