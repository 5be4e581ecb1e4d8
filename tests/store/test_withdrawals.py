import json
import re

import pytest

from spc.errors import SignatureRefused, UnknownName
from spc.store.blends.drafts import Draft, Portion
from tests.staff import enter, ines, mara

CAUSE = "strips of batch S-7 stood open over night"


def reading(lot, bag, heat):
    return f"{lot},{bag},1,2026-03-04 10:00:00,0.1,10,10,{heat},µmol/L"


@pytest.fixture
def two_files(small_store, source_file):
    """L-1 conforms by the first file alone and, with the second, lies too high to say so."""
    files = [
        [reading("L-1", bag, 8.6 + 0.1 * bag) for bag in (1, 2, 3)],
        [reading("L-1", bag, 16.5) for bag in (4, 5, 6)] + [reading("L-2", 1, 8.6)],
    ]
    enter(small_store, "mara", "ines")
    small_store.files = [
        small_store.receive_bytes(
            f"sensor_{number}.csv", source_file("sensor", *rows), by=ines(small_store)
        ).receipt
        for number, rows in enumerate(files)
    ]
    return small_store


def outcomes(judged):
    return {line.line.characteristic: line.outcome for line in judged.lines}


def test_what_would_change_is_what_does_change(two_files):
    _, second = two_files.files
    supposed = two_files.intake.would_change("file", second)

    done = two_files.intake.withdraw(
        "file", second, cause=CAUSE, by=ines(two_files), second=mara(two_files)
    )

    assert (supposed.results, supposed.lots, done.about["results"]) == (4, 2, 4)
    assert {one.lot for one in supposed.changed} == {"L-1", "L-2"}
    for one in supposed.changed:
        now = two_files.verdict(one.lot)
        assert now.sentence == one.after.sentence
        assert outcomes(now) == outcomes(one.after) != outcomes(one.before)


def test_supposing_writes_nothing(two_files, contents):
    before, revision = contents(two_files), two_files.revision()

    two_files.intake.would_change("file", two_files.files[0])

    assert contents(two_files) == before
    assert two_files.revision() == revision
    assert two_files.invalidations("L-1").empty


def test_withdrawn_results_stay_in_the_record_under_one_audit_entry(two_files):
    two_files.intake.withdraw(
        "file", two_files.files[1], cause=CAUSE, by=ines(two_files), second=mara(two_files)
    )

    assert two_files.audit()["action"].tolist().count("withdrew results") == 1
    entry = two_files.audit(most=1).iloc[0]
    assert (entry["action"], entry["subject"]) == ("withdrew results", two_files.files[1])
    assert len(json.loads(entry["detail"])["results"]) == 4
    void = two_files.invalidations("L-1")
    assert void["cause"].tolist() == [CAUSE] * 3
    assert two_files.verify().ok


def test_a_withdrawal_that_was_tampered_with_is_found(two_files):
    two_files.intake.withdraw(
        "file", two_files.files[1], cause=CAUSE, by=ines(two_files), second=mara(two_files)
    )
    with two_files._connection._database.cursor() as cursor:
        cursor.execute("delete from invalidation where result like '%-5-1'")

    (fault,) = two_files.verify().faults
    assert re.match(r"invalidation: audit entry \d+ \(withdrew results \w+\) seals", fault)


@pytest.mark.parametrize(
    ("said", "kind", "what"),
    [
        ({"cause": ""}, SignatureRefused, "has no reason"),
        ({"name": "nothing"}, UnknownName, "standing result of file 'nothing'"),
    ],
)
def test_a_withdrawal_needs_a_cause_and_something_to_withdraw(
    two_files, contents, said, kind, what
):
    told = {"cause": CAUSE, "by": ines(two_files), "second": mara(two_files)}
    before = contents(two_files)
    told |= {"name": two_files.files[1], **said}

    with pytest.raises(kind, match=what):
        two_files.intake.withdraw("file", **told)

    assert contents(two_files) == before


def test_a_file_is_withdrawn_once_a_second_person_has_signed_it(two_files):
    waits = two_files.intake.withdraw("file", two_files.files[1], cause=CAUSE, by=ines(two_files))
    before = two_files.invalidations("L-1")
    (done,) = two_files.signing.sign(waits.request, by=mara(two_files))

    assert (waits.state, waits.about["lots"]) == ("waiting", 2)
    assert before.empty
    assert done.complete
    void = two_files.invalidations("L-1")
    assert {*zip(void["invalidated_by"], void["second_person"], strict=True)} == {
        ("Ines Valbo", "Mara Quill")
    }


def test_a_file_cannot_be_withdrawn_twice(two_files):
    said = {"cause": CAUSE, "by": ines(two_files), "second": mara(two_files)}
    two_files.intake.withdraw("file", two_files.files[1], **said)

    with pytest.raises(UnknownName):
        two_files.intake.withdraw("file", two_files.files[1], **said)


MIXTURE = Draft(
    name="mild mixture",
    material="cayenne powder",
    batch_kg=500.0,
    portions=(Portion(lot="MILD", kg=400.0), Portion(lot="HOT", kg=100.0)),
    predicted=(),
    target={"heat": {"lower": 30_000, "upper": 48_000}},
    odds=0.9,
    cost=1_800.0,
    currency="EUR",
)


def test_a_blend_planned_with_a_lot_is_named(stocked):
    stocked.blends.save(MIXTURE, by=mara(stocked))
    receipt = stocked.results("MILD").query("method == 'rapid sensor'")["receipt"].iloc[0]

    supposed = stocked.intake.would_change("file", receipt)

    mine = supposed.blends[supposed.blends["lot"] == "MILD"]
    assert mine["status"].tolist() == ["draft"]
    assert mine["blend"].tolist() == ["mild mixture"]
    assert mine["share"].tolist() == [0.8]


def test_a_blend_is_named_too_if_its_lot_would_only_be_known_less_well(stocked):
    """Nothing limits colour, so that no verdict hangs on it; a recipe may."""
    stocked.blends.save(MIXTURE, by=mara(stocked))
    receipt = stocked.results("MILD").query("characteristic == 'colour'")["receipt"].iloc[0]

    supposed = stocked.intake.would_change("file", receipt)

    assert "MILD" not in {one.lot for one in supposed.changed}
    named = sorted(supposed.blends[["lot", "blend"]].to_numpy().tolist())
    assert named == [["HOT", "mild mixture"], ["MILD", "mild mixture"]]


def test_a_withdrawn_sensor_batch_leaves_what_was_read_of_control_samples(writable_demo):
    def read():
        streams = writable_demo.compare.controls("rapid sensor")
        return [(one.control.control, one.instrument, one.batches) for one in streams]

    enter(writable_demo, "mara", "ines")
    before, batch = read(), writable_demo.intake.sensor_batches().iloc[0]

    done = writable_demo.intake.withdraw(
        "sensor batch",
        batch["sensor_batch"],
        cause=CAUSE,
        by=ines(writable_demo),
        second=mara(writable_demo),
    )

    assert done.about["results"] == batch["results"]
    assert batch["sensor_batch"] not in set(writable_demo.results()["sensor_batch"])
    assert read() == before
