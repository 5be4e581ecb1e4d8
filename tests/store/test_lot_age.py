"""Rules, plans and ages on their way through the store: what is said comes back and counts."""

from datetime import date

import pytest

from spc.errors import BadCatalogue, NotAllowed, RegisterRefused
from spc.intake import catalogue
from spc.store import Store
from spc.store.people import STANDS_STILL
from tests.approved import in_force
from tests.staff import ME, enter, ines, mara, stand_still

POLICY = """
due_days = 14
valid_days = 100
plausible_moisture = [3, 15]
hold_on = ["result aged", "measured again"]
"""
LINES = """
[[specification.line]]
characteristic = "heat"
lower = 30000.0
upper = 60000.0
basis = "as-is"
rule = "guarded rejection"
each_sample = true
jurisdiction = "EU; check current law"

[[specification.line]]
characteristic = "heat"
requirement = "proportion"
lower = 30000.0
plan_n = 3
plan_k = 1.5

[[specification.line]]
characteristic = "moisture"
requirement = "count"
upper = 11.0
plan_n = 2
plan_c = 0

"""
TODAY = "2026-04-01"


@pytest.fixture
def asking(small_sources):
    """The small catalogue with a policy, and with lines of every kind."""
    text = small_sources["catalogue.toml"]
    first = text.index("[[specification.line]]")
    last = text.index('[[specification.line]]\ncharacteristic = "aflatoxin B1"')
    lined = text[:first] + LINES.lstrip() + text[last:]
    return lined.replace("within_lot_cv = 0.06", "within_lot_cv = 0.06" + POLICY)


@pytest.fixture
def store(asking, small_sources, source_file, tmp_path):
    with Store.open(tmp_path / "lots.db") as opened:
        for name, text in (small_sources | {"catalogue.toml": asking}).items():
            opened.receive_bytes(name, text.encode(), by=ME)
        in_force(opened)
        stand_still(opened, TODAY)
        lot = "L-1,cayenne powder,North Mill,2026-03-02,2025,40,25,41000,2026-02-20"
        opened.receive_bytes("register.csv", source_file("register", lot), by=ME)
        yield opened


@pytest.fixture
def measure(store, source_file):
    """Heat of a bag on a day, by the sensor; a file a call."""

    def received(day, *bags, name="sensor.csv", by=ME):
        rows = [
            f"L-1,{bag},{day}-{bag},{day} 10:00:00,0.1000,10.0,10,{reading},µmol/L"
            for bag, reading in bags
        ]
        store.receive_bytes(name, source_file("sensor", *rows), by=by)

    return received


def names(store):
    return {flag.name for flag in store.verdict("L-1").flags}


def test_rules_plans_and_policies_come_back_as_they_were_written(store, asking):
    said = catalogue.parse(asking)

    kept = store.catalogue()

    assert kept.specifications == said.specifications
    assert kept.materials == said.materials
    assert store.verify().ok


def test_no_file_sets_the_day_it_is_in_a_store(store, asking):
    with pytest.raises(BadCatalogue, match="what day it is"):
        store.receive_bytes("earlier.toml", f"today = 2026-01-01\n{asking}".encode(), by=ME)

    assert store.today() == date.fromisoformat(TODAY)


def test_the_day_a_store_stands_still_at_is_signed_by_an_administrator(store):
    enter(store, "mara", "ines")
    reason = "for trying things out"

    with pytest.raises(NotAllowed, match="administrator"):
        store.people.set_rule(STANDS_STILL, "2024-02-29", by=ines(store), reason=reason)
    with pytest.raises(RegisterRefused, match="no date"):
        store.people.set_rule(STANDS_STILL, "yesterday", by=mara(store), reason=reason)
    store.people.set_rule(STANDS_STILL, "2024-02-29", by=mara(store), reason=reason)
    assert store.today() == date(2024, 2, 29)
    store.people.set_rule(STANDS_STILL, "", by=mara(store), reason="the trial is over")

    assert store.today() > date(2026, 4, 1)


def test_the_same_catalogue_again_is_known(store, asking):
    # Other bytes, or the file itself would be known already.
    asking += "\n"

    again = store.receive_bytes("again.toml", asking.encode(), by=ME)

    assert (again.stored, again.held) == (0, 0)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("rule", "'two risks'"),
        ("plan_k", "0.5"),
        ("plan_c", "2"),
        ("plan_n", "9"),
        ("each_sample", "false"),
        ("jurisdiction", "''"),
    ],
)
def test_a_rule_changed_behind_the_store_s_back_is_found(store, column, value):
    change = f"update specification_line set {column} = {value} where {column} is not null"  # noqa: S608
    store._connection.write(lambda cursor: cursor.execute(change), token=change)

    assert not store.verify().ok


def test_a_policy_changed_behind_the_store_s_back_is_found(store):
    change = "update material set due_days = 99"
    store._connection.write(lambda cursor: cursor.execute(change), token=change)

    assert not store.verify().ok


def test_a_lot_that_waits_past_its_day_is_overdue_until_it_is_decided(store):
    waiting = names(store)
    store.dispose("L-1", "rejected", by=ME, reason="never measured")

    assert "result overdue" in waiting
    assert "result overdue" not in names(store)


def test_a_lot_on_hold_still_waits(store):
    store.dispose("L-1", "on hold", by=ME, reason="results outstanding")

    overdue = [one for one in store.verdict("L-1").flags if one.name == "result overdue"]

    assert "the lot has waited 30 days; results are due within 14 days" in overdue[0].sentence


def test_old_results_are_told_with_their_age(store, measure):
    measure("2025-12-01", (1, 8.0), (2, 8.1), (3, 8.2))

    aged = [one for one in store.verdict("L-1").flags if one.name == "result aged"]

    assert aged[0].sentence.startswith("heat: the newest result is 121 days old")
    assert aged[0].holds


def test_a_new_result_makes_an_old_one_young_and_is_counted_as_a_retest(store, measure):
    measure("2025-12-01", (1, 8.0), (2, 8.1), (3, 8.2))
    measure("2026-03-03", (1, 8.0), name="again.csv")

    told = {flag.name: flag.sentence for flag in store.verdict("L-1").flags}

    assert "result aged" not in told
    assert told["measured again"].startswith("heat: measured on 2 days by rapid sensor")


def test_a_void_result_stays_in_the_count_of_retests(store, measure):
    measure("2026-03-02", (1, 20.0))
    void = store.results("L-1").query("method == 'rapid sensor'")["result"].iloc[0]
    enter(store, "mara", "ines")
    store.invalidate(void, cause="wrong strip", by=ines(store), second=mara(store))
    measure("2026-03-03", (1, 8.0), name="again.csv", by=ines(store))

    assert len(store.results("L-1").query("method == 'rapid sensor'")) == 1
    assert "measured again" in names(store)


def test_a_certificate_of_another_day_is_no_retest(store, measure):
    measure("2026-03-03", (1, 8.0))

    assert "measured again" not in names(store)


def test_lines_of_every_kind_are_judged(store, measure):
    measure("2026-03-03", (1, 8.0), (2, 8.1), (3, 8.3))

    average, share, count, toxin = store.verdict("L-1").lines

    assert average.outcome == share.outcome == "conforming"
    assert "Guarded rejection" in average.reason
    assert "the plan with k = 1.5 allows" in share.reason
    assert (count.outcome, toxin.outcome) == ("no result", "no result")
