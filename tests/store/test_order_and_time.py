"""What counts is the order of the audit chain; a clock that goes back is told and no more."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from spc.store import Store
from spc.store.blends.drafts import Draft, Portion
from spc.store.file import cursors
from spc.store.people import Entry
from tests.staff import ME, first_day, mara

ROW = "L-1,1,1,2026-03-04 10:00:00,0.1,10,10,8.2,µmol/L"


@pytest.fixture
def clock(monkeypatch):
    """A machine's clock that a test can set."""

    class Clock:
        ahead = timedelta()

        def now(self):
            return datetime.now(UTC).replace(tzinfo=None) + self.ahead

    one = Clock()
    for module in ("file.cursors", "record.audit"):
        monkeypatch.setattr(f"spc.store.{module}.now", one.now)
    return one


def hold(store, lot="L-1", reason="await toxins"):
    return store.dispose(lot, "on hold", by=ME, reason=reason)


def test_the_last_decision_counts_though_the_clock_went_back_before_it(small_store, clock):
    hold(small_store)
    clock.ahead = -timedelta(hours=1)

    small_store.dispose("L-1", "rejected", by=ME, reason="too mild")

    assert small_store.lot("L-1").decision == "rejected"
    assert small_store.dispositions("L-1")["decision"].tolist() == ["on hold", "rejected"]
    assert small_store.dispositions("L-1")["decided_at"].is_monotonic_increasing


def test_a_step_back_of_the_clock_is_told_in_the_log_on_the_lot_and_by_verification(
    small_store, clock
):
    hold(small_store)
    at = small_store.audit(most=1)["entered_at"].iloc[0]
    clock.ahead = -timedelta(hours=1)
    said = clock.now()

    hold(small_store, "L-2")

    entry = small_store.audit(most=1).iloc[0]
    assert entry["entered_at"] == at
    assert abs(entry["clock"] - said) < timedelta(minutes=1)
    (told,) = small_store.dispositions("L-2")["clock"]
    assert told == entry["clock"]
    assert small_store.dispositions("L-1")["clock"].isna().all()
    outcome = small_store.verify()
    (note,) = outcome.notes
    assert outcome.ok
    assert re.match(r"at audit entry \d+ the machine's clock said", note)


def test_many_entries_under_one_step_back_are_told_once(small_store, clock):
    hold(small_store)
    clock.ahead = -timedelta(hours=1)
    for number in range(3):
        hold(small_store, reason=f"reason {number}")
    clock.ahead = timedelta(hours=1)
    hold(small_store)
    clock.ahead = timedelta()
    hold(small_store)

    assert len(small_store.verify().notes) == 2


def test_a_clock_that_is_set_right_by_less_than_a_second_is_not_spoken_of(small_store, clock):
    hold(small_store)
    clock.ahead = -timedelta(seconds=0.5)

    hold(small_store)

    assert small_store.audit(most=1)["clock"].isna().all()
    assert small_store.verify().notes == ()


def test_no_time_in_a_store_goes_back(small_store, source_file, clock):
    clock.ahead = timedelta(days=1)
    hold(small_store)
    last = small_store.audit(most=1)["entered_at"].iloc[0]
    clock.ahead = timedelta()

    receipt = small_store.receive_bytes("s.csv", source_file("sensor", ROW), by=ME)
    small_store.attach("L-1", name="a.txt", content=b"a", note="", by=ME)

    assert receipt.received_at >= last
    assert (small_store.attachments("L-1")["attached_at"] >= last).all()
    assert small_store.audit()["entered_at"].is_monotonic_decreasing
    assert small_store.today() >= last.date()


def test_decisions_of_files_come_before_those_signed_here_in_the_order_of_their_own_dates(
    small_store, source_file
):
    """They are what was decided before the store was kept, whenever their file comes."""
    first_day(small_store, "2026-04-01")
    hold(small_store)
    lines = [f"L-1,{what},2026-03-{day:02},Mara Quill,QA,ok" for what, day in OLD]

    for number, line in enumerate(lines):
        small_store.receive_bytes(f"{number}.csv", source_file("decisions", line), by=ME)

    order = small_store.dispositions("L-1")["decision"].tolist()
    assert order == ["sent to rework", "rejected", "on hold"]
    assert small_store.lot("L-1").decision == "on hold"


OLD = (("rejected", 9), ("sent to rework", 5))


def test_the_last_mend_of_a_cell_counts_though_the_clock_went_back(small_store, source_file, clock):
    row = "L-1,2,1,2026-03-04 10:00:00,1.000,1.0,1,17.7,µmol/L"
    receipt = small_store.receive_bytes("s.csv", source_file("sensor", row), by=ME)
    (held,) = small_store.held()["source_row"]

    def mend(portion):
        cells = {"Portion g": portion, "Buffer mL": "10"}
        return small_store.intake.mend(receipt.receipt, [held], cells, by=ME, reason="notebook")

    mend("ten")
    clock.ahead = -timedelta(hours=1)

    assert mend("0.1").stored == 1


def test_what_happened_last_to_a_blend_counts_though_the_clock_went_back(stocked, clock):
    draft = Draft(
        name="mild",
        material="cayenne powder",
        batch_kg=100.0,
        portions=(Portion(lot="MILD", kg=100.0),),
        predicted=(),
        target={},
    )
    blend = stocked.blends.save(draft, by=mara(stocked))
    stocked.blends.approve(blend, by=mara(stocked))
    clock.ahead = -timedelta(hours=1)

    stocked.blends.cancel(blend, by=mara(stocked), reason="no need")

    assert stocked.blends.one(blend).status == "cancelled"
    assert stocked.verify().faults == ()


def test_the_clock_of_one_store_says_nothing_of_another(small_store, tmp_path, clock):
    clock.ahead = timedelta(days=300)
    hold(small_store)
    clock.ahead = timedelta()

    with Store.open(tmp_path / "other.db") as other:
        assert other.today() == cursors.now().date()


def test_people_are_registered_and_sign_in_while_the_clock_stands_back(small_store, clock):
    people, secret = small_store.people, "odd lamp under seven rivers"
    mara = Entry(name="Mara Quill", sign_in="mara", roles=("administrator",))
    people.accept(people.invite(mara, by=people.system_user(), reason="joins"), secret=secret)
    clock.ahead = -timedelta(hours=2)

    key = people.sign_in("mara", secret=secret)
    by = people.signing(key, secret=secret, name="mara")
    people.change("mara", Entry(name="Mara Holt"), by=by, reason="has married")

    assert people.who(people.session(key)).name == "Mara Holt"
    times = [one["happened_at"] for one in people.history("mara")]
    assert times == sorted(times)
    assert small_store.verify().ok
