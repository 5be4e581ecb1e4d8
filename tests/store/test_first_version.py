# ruff: noqa: S608 - the statements are this file's own
"""A store of 0.1.0 opens: what it sealed is checked, and what it did not is sealed as found.

`version_0_1_0.json` holds every row of the store that `everything.py` makes, as 0.1.0 wrote it.
"""

import json
import re
import stat
from pathlib import Path

import duckdb
import pytest

from spc.errors import OlderSchema
from spc.store import Store, restore, verification
from spc.store.file import migrations
from spc.store.file.migrations import steps
from tests.staff import ME, MY_NAME

ROWS = json.loads((Path(__file__).parent / "version_0_1_0.json").read_text(encoding="utf-8"))
SIGNED = "receipt = '' and lot = 'NEW' and decision = 'rejected'"


def old_store(path, *statements):
    """A file as 0.1.0 left it, changed behind its back by statements."""
    with duckdb.connect(str(path)) as database:
        migrations.apply(database, [step for step in steps() if step.number <= 4])
        for table, rows in ROWS.items():
            if table != "schema_step":
                places = ", ".join("?" for _ in rows[0])
                plain = [
                    [bytes.fromhex(one["hex"]) if isinstance(one, dict) else one for one in row]
                    for row in rows
                ]
                database.executemany(f"insert into {table} values ({places})", plain)
        for statement in statements:
            database.execute(statement)
    return path


def test_an_old_store_opens_is_whole_and_says_that_it_was_sealed_as_found(tmp_path):
    with Store.open(old_store(tmp_path / "lots.db")) as store:
        outcome, entries = store.verify(), store.audit(most=1)
        sealed = json.loads(entries["detail"].iloc[0])

    assert outcome.faults == ()
    assert re.match(
        r"the store was sealed as it was found on \d{4}-\d\d-\d\d \(audit entry 39\)",
        outcome.notes[0],
    )
    assert entries["action"].iloc[0] == "sealed as found"
    assert (sealed["from"], sealed["to"], sealed["faults"]) == (4, steps()[-1].number, [])


def test_an_old_store_is_sealed_once_and_goes_on_as_any_other(tmp_path):
    path = old_store(tmp_path / "lots.db")
    with Store.open(path) as store:
        before = store.revision()
    with Store.open(path) as store:
        assert store.revision() == before
        store.dispose("HELD", "rejected", by=ME, reason="still no word")
        assert store.lot("HELD").decision == "rejected"
        assert store.verify().faults == ()


def test_decisions_of_an_old_store_keep_their_names_as_typed_and_not_signed_in(tmp_path):
    with Store.open(old_store(tmp_path / "lots.db")) as store:
        told = store.dispositions()
        store.dispose("HELD", "rejected", by=ME, reason="still no word")
        signed = store.dispositions("HELD").iloc[-1]

    typed = told[told["receipt"] == ""]
    assert set(typed["how"]) == {"typed, not signed in"}
    assert set(typed["person"]) == {""}
    assert "Mara Quill" in set(typed["decided_by"])
    assert (signed["how"], signed["person"]) == ("signed", MY_NAME)


def test_decisions_of_an_old_store_keep_their_order_by_the_chain_whatever_their_times(tmp_path):
    """The clock had gone back between the two: by their times the hold would count."""
    told = "select sequence from audit where action = 'signed: rejected' and subject = 'NEW'"
    path = old_store(
        tmp_path / "lots.db",
        f"update disposition set decided_at = timestamp '2020-01-01' where {SIGNED}",
    )
    with Store.open(path) as store:
        with store._connection.read() as cursor:
            entry = cursor.execute(told).fetchone()
            stands = cursor.execute(f"select entry from disposition where {SIGNED}").fetchone()
        decisions = store.dispositions("NEW")["decision"].tolist()

        assert stands == entry is not None
        assert decisions == ["on hold", "rejected"]
        assert store.lot("NEW").decision == "rejected"


CHANGED = {
    "a decision": (f"update disposition set reason = 'well' where {SIGNED}", "disposition "),
    "a decision, deleted": (f"delete from disposition where {SIGNED}", "disposition "),
    "a result": ("update result set value_low = 1 where lot = 'HOT'", "what sensor.csv brought"),
    "a receipt": ("update receipt set held = 9 where name = 'sensor.csv'", "the receipt of sensor"),
    "a receipt, deleted": ("delete from receipt where name = 'sensor.csv'", "the receipt of sens"),
    "a supplier": ("insert into supplier values ('Ghost Mill', '')", "materials, suppliers"),
    "a limit": ("update specification_line set upper = 9e9", "what catalogue.toml brought"),
    "a baseline": ("update baseline set reason = 'x'", "the baseline of cayenne powder, North"),
    "an investigation": ("update investigation set cause = 'x'", "investigation "),
    "its end": ("delete from investigation_end", "investigation "),
    "an invalidation": ("update invalidation set cause = 'x'", "the invalidation of result"),
    "a certificate on another lot": ("update attachment set lot = 'MILD'", "the attachment letter"),
    "a stock move": ("update stock_move set kg = 1 where kind = 'counted'", "the stock move of MI"),
    "a blend": ("update blend set note = 'x'", "the blend of "),
    "a parent": ("delete from blend_parent where parent = 'HOT'", "the blend parent of BLEND-1"),
    "an entry": ("update audit set actor = 'x' where sequence = 3", "audit entry 3"),
    "an entry, deleted": ("delete from audit where sequence = 3", "audit entry 3 is missing"),
    "no JSON": ("update audit set detail = '{' where sequence = 3", "audit entry 3"),
    "no JSON of a decision": (
        "update audit set detail = '7' where action = 'signed: rejected'",
        "audit entry",
    ),
    "no JSON of a baseline": ("update baseline set lots = 'x'", "baselines cannot be compared"),
}


@pytest.mark.parametrize("what", CHANGED)
def test_what_was_changed_in_an_old_store_is_told_for_ever_and_never_sealed_away(tmp_path, what):
    statement, sentence = CHANGED[what]
    path = old_store(tmp_path / "lots.db", statement)

    for _ in range(2):
        with Store.open(path) as store:
            faults = store.verify().faults
        assert any(re.search(rf"as the store was found.*: {sentence}", one) for one in faults)


def test_an_old_copy_is_restored_and_a_changed_one_is_not(tmp_path):
    whole = old_store(tmp_path / "whole.db")
    changed = old_store(tmp_path / "changed.db", "update baseline set reason = 'x'")
    before = whole.read_bytes()

    assert restore(whole, tmp_path / "one.db").ok
    assert not restore(changed, tmp_path / "two.db").ok

    assert whole.read_bytes() == before
    assert not (tmp_path / "two.db").exists()


def test_an_old_store_that_may_only_be_read_says_what_it_needs(tmp_path):
    path = old_store(tmp_path / "lots.db")
    path.chmod(stat.S_IRUSR)
    before = path.read_bytes()

    with pytest.raises(OlderSchema, match="Open it once for writing"):
        Store.open(path, read_only=True)

    assert path.read_bytes() == before


def test_a_change_before_the_next_step_of_the_schema_is_told_after_it(
    full_store_file, tmp_path, monkeypatch
):
    """The next step seals everything anew, with what was wrong by the seals before it."""
    path = tmp_path / "lots.db"
    path.write_bytes(full_store_file.read_bytes())
    with duckdb.connect(str(path)) as database:
        database.execute("update baseline set reason = 'x'")
    number = steps()[-1].number + 1
    more = migrations.Step(
        number=number,
        name=f"{number:04}_more.sql",
        sql="create table more (name varchar not null, entry bigint not null)",
    )
    known = (*steps(), more)
    for module in (
        "file.migrations",
        "file.inventory",
        "opening",
        "record.audit",
        "record.chain",
        "record.seals",
        "verification",
    ):
        monkeypatch.setattr(f"spc.store.{module}.steps", lambda: known)

    with Store.open(path) as store:
        outcome = store.verify()

    (fault,) = outcome.faults
    assert re.match(r"as the store was found on .*: baseline: what audit entry", fault)
    assert len(outcome.notes) == 1


def test_every_check_of_an_old_store_has_something_to_check(tmp_path):
    path = old_store(tmp_path / "lots.db")

    kept = [len(rows) for table, rows in ROWS.items() if table not in ("audit", "schema_step")]
    approved = len(ROWS["specification"]) + len(ROWS["correction"])
    with Store.open(path) as store, store._connection.read() as cursor:
        assert verification.verify(cursor).checked["rows"] == sum(kept) + approved


def test_what_judged_lots_in_an_old_store_goes_on_and_is_marked_as_received(tmp_path):
    with Store.open(old_store(tmp_path / "lots.db")) as store:
        approvals, known = store.approvals.every(), store.catalogue()

        assert {one.how for one in approvals} == {"as received"}
        assert len(known.specifications) == len(ROWS["specification"])
        assert len(known.corrections) == len(ROWS["correction"])
        assert store.approvals.proposals() == ()
        assert store.verdict("HELD").specification.version == 1
