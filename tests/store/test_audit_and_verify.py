# ruff: noqa: S608 - the statements are this file's own
import json
import re
import shutil

import duckdb
import pytest

from spc.store import Choice, Store, StreamKey
from spc.store.connection import Connection
from spc.store.verification import verify
from tests.staff import ME, enter, first_day, ines, mara

KEY = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)
SENSOR = "L-{lot},{bag},1,2026-03-04 10:00:00,0.1,10,1,{reading},µmol/L"


@pytest.fixture(scope="module")
def eventful_file(small_store_file, source_file, tmp_path_factory):
    """A small store in which everything has happened once, closed."""
    path = tmp_path_factory.mktemp("eventful") / "lots.db"
    with Store.open(shutil.copy(small_store_file, path)) as store:
        rows = [SENSOR.format(lot=1, bag=bag, reading=bag + 4) for bag in (1, 2, 3)]
        rows += [SENSOR.format(lot=7, bag=1, reading=5), SENSOR.format(lot=8, bag=1, reading=5)]
        rows += [SENSOR.format(lot=2, bag=1, reading=90)]
        sensor = store.receive_bytes("sensor.csv", source_file("sensor", *rows), by=ME)
        store.intake.dismiss(sensor.receipt, [6], by=ME, reason="a trial run")
        old = source_file("decisions", "L-2,rejected,2026-03-05,Mara Quill,QA manager,ok")
        first_day(store, "2026-04-01")
        store.receive_bytes("decisions.csv", old, by=ME)
        enter(store, "mara", "ines")
        store.dispose("L-1", "on hold", by=ines(store), reason="await toxins")
        store.dispose("L-1", "rejected", by=mara(store), reason="too mild")
        chosen = Choice(lots=("L-1", "L-2"))
        store.freeze_baseline(KEY, chosen, by=mara(store), reason="first two")
        note = store.investigate(
            KEY, "L-2", signals=["beyond limits"], cause="new mill", action="told", by=mara(store)
        )
        store.attach("L-2", name="letter.txt", content=b"a letter", note="", by=mara(store))
        store.close_investigation(note, conclusion="mill adjusted", by=mara(store))
        store.receive_bytes(
            "register.csv",
            source_file("register", "L-7,cayenne powder,North Mill,2026-03-04,,,,41000,"),
            by=mara(store),
        )
        store.intake.check_again(sensor.receipt, by=mara(store))
        store.invalidate(
            store.results("L-7")["result"].iloc[0],
            cause="opened strip",
            by=ines(store),
            second=mara(store),
        )
    return path


@pytest.fixture(scope="module")
def faults(eventful_file):
    """What is found after statements were run behind the store's back; nothing of them is kept."""
    connection = Connection(eventful_file)

    def found(*statements):
        with connection.supposing() as cursor:
            for statement in statements:
                cursor.execute(statement)
            return verify(cursor).faults

    yield found
    assert found() == ()
    connection.close()


def test_the_demo_is_whole(demo_store):
    steps: list[str] = []

    verification = demo_store.verify(steps.append)

    assert verification.ok
    assert verification.checked["values"] == demo_store.receipts()["results"].sum()
    assert verification.checked["files"] == len(demo_store.receipts())
    assert steps == list(verification.checked)


def test_a_store_in_which_everything_happened_is_whole(faults):
    assert faults() == ()


ONE_RESULT = "result = (select min(result) from result where method = 'rapid sensor')"
COPY = "select * replace ('new' as result{more}) from result where " + ONE_RESULT

TAMPERED = {
    "a value": (
        f"update result set value_low = value_low * 1.1 where {ONE_RESULT}",
        r"result \w+-2-1 of lot L-1: stored [\d.]+ to [\d.]+ SHU, derived [\d.]+ to [\d.]+\.",
    ),
    "a reading with its value": (
        "update result set reading = reading * 2, value_low = value_low * 2,"
        f" value_high = value_high * 2 where {ONE_RESULT}",
        r"audit entry \d+ \(received sensor\.csv\) seals",
    ),
    "a reading's text": (
        f"update result set reading_text = '9' where {ONE_RESULT}",
        r"audit entry \d+ \(received sensor\.csv\) seals",
    ),
    "a reading that can no longer be derived": (
        f"update result set factors = 'none' where {ONE_RESULT}",
        "a stored reading can no longer be derived",
    ),
    "a result, deleted": (
        f"delete from result where {ONE_RESULT}",
        r"audit entry \d+ \(received sensor\.csv\) seals",
    ),
    "all that a file brought, deleted": (
        "delete from disposition where receipt <> ''",
        r"audit entry \d+ \(received decisions\.csv\) seals",
    ),
    "a held row": (
        "update held_row set original = '{}'",
        r"audit entry \d+ \(received sensor\.csv\) seals",
    ),
    "a held row, deleted": (
        "delete from held_row where source_row = 6",
        r"audit entry \d+ \(received sensor\.csv\) seals",
    ),
    "how a wait ended": (
        "update held_row_end set reason = 'never mind' where how = 'dismissed'",
        r"end of a held row's wait: what audit entry \d+ \(dismissed held rows \w+\) seals",
    ),
    "a lot's supplier": (
        "update lot set supplier = 'South Mill' where lot = 'L-1'",
        r"audit entry \d+ \(received register\.csv\) seals",
    ),
    "a method's uncertainty": (
        "update method set standard_uncertainty = 0.0001 where method = 'rapid sensor'",
        r"audit entry \d+ \(received catalogue\.toml\) seals",
    ),
    "a limit": (
        "update specification_line set upper = 90000 where characteristic = 'heat'",
        r"audit entry \d+ \(received catalogue\.toml\) seals",
    ),
    "a profile": (
        "update source_profile set text = replace(text, 'Bag', 'Sack')",
        r"audit entry \d+ \(received sensor\.toml\) seals",
    ),
    "a material's policy": (
        "update material set hold_on = '[]'",
        r"material: what audit entry 1 \(received catalogue\.toml\) seals was changed",
    ),
    "a supplier, added": (
        "insert into supplier values ('Ghost Mill', '', 1)",
        r"supplier: audit entry 1 \(received catalogue\.toml\) seals 2 rows, but 3 stand",
    ),
    "what an audit entry tells": (
        "update audit set detail = replace(detail, 'await toxins', 'all is well')",
        r"audit entry \d+ \(signed: on hold L-1\) was changed",
    ),
    "who did it": (
        "update audit set actor = 'Nobody' where action = 'received' and sequence = 3",
        r"audit entry 3 \(received \w+\) was changed",
    ),
    "an audit entry, deleted in the middle": (
        "delete from audit where sequence = 5",
        "audit entry 5 is missing",
    ),
    "the last audit entry, deleted": (
        "delete from audit where sequence = (select max(sequence) from audit)",
        r"invalidation: 1 row stands under audit entry \d+, which there is not",
    ),
    "a file's bytes": (
        "update receipt set bytes = encode('nothing') where name = 'sensor.csv'",
        r"the bytes of sensor\.csv are not the ones received",
    ),
    "a file's bytes with their digest": (
        "update receipt set bytes = encode('nothing'), sha256 = sha256('nothing')"
        " where name = 'sensor.csv'",
        r"receipt: what audit entry \d+ \(received sensor\.csv\) seals was changed",
    ),
    "how many rows a file had": (
        "update receipt set held = held - 1, known = known + 1 where name = 'sensor.csv'",
        r"receipt: what audit entry \d+ \(received sensor\.csv\) seals was changed",
    ),
    "a receipt, deleted": (
        "delete from receipt where name = 'sensor.csv'",
        r"receipt: audit entry \d+ \(received sensor\.csv\) seals 1 row, but 0 stand",
    ),
    "a decision signed here": (
        "update disposition set decision = 'accepted' where decision = 'rejected'",
        r"decision: what audit entry \d+ \(signed: rejected L-1\) seals was changed",
    ),
    "the evidence of a decision": (
        "update disposition set evidence = '{}' where decision = 'rejected'",
        r"decision: what audit entry \d+ \(signed: rejected L-1\) seals was changed",
    ),
    "a decision signed here, deleted": (
        "delete from disposition where decision = 'rejected'",
        r"decision: audit entry \d+ \(signed: rejected L-1\) seals 1 row, but 0 stand",
    ),
    "a decision signed by nobody": (
        "insert into disposition"
        " select 'x', columns(* exclude disposition) from disposition limit 1;"
        " update disposition set entry = 1 where disposition = 'x'",
        r"decision: 1 row stands under audit entry 1 \(received catalogue\.toml\), which",
    ),
    "an earlier decision": (
        "update disposition set decided_by = 'Ines Valbo' where receipt <> ''",
        r"audit entry \d+ \(received decisions\.csv\) seals",
    ),
    "a baseline": (
        """update baseline set lots = '["L-2", "L-7"]'""",
        r"baseline: what audit entry \d+ \(froze a baseline cayenne powder, North Mill, heat",
    ),
    "the cause of an invalidation": (
        "update invalidation set cause = 'unwelcome'",
        r"invalidation: what audit entry \d+ \(invalidated a result L-7\) seals was changed",
    ),
    "an invalidation, deleted": ("delete from invalidation", "invalidation: audit entry"),
    "the bytes of an attachment": (
        "update attachment set bytes = 'another letter'::blob",
        r"the bytes of letter\.txt are not the ones attached",
    ),
    "the rules of a baseline": (
        """update baseline set rules = '["nine on one side"]'""",
        "baseline: what audit entry",
    ),
    "the cause of an investigation": (
        "update investigation set cause = 'chance'",
        r"investigation: what audit entry \d+ \(opened an investigation L-2\) seals was changed",
    ),
    "the end of an investigation": ("delete from investigation_end", "investigation"),
    "a baseline, deleted": ("delete from baseline", "baseline: audit entry"),
    "a result in a file's name": (
        "insert into result " + COPY.format(more=""),
        r"audit entry \d+ \(received sensor\.csv\) seals",
    ),
    "a result from nowhere": (
        "insert into result " + COPY.format(more=", 'nowhere' as receipt"),
        r"result: audit entry \d+ \(received sensor\.csv\) seals \d rows, but \d stand",
    ),
    "a result in nobody's name": (
        "insert into result " + COPY.format(more=", '' as receipt"),
        r"result: audit entry \d+ \(received sensor\.csv\) seals \d rows, but \d stand",
    ),
}


@pytest.mark.parametrize("what", TAMPERED)
def test_what_was_changed_behind_the_store_s_back_is_found_and_named(faults, what):
    statement, sentence = TAMPERED[what]

    found = faults(statement)

    assert found
    assert any(re.search(sentence, fault) for fault in found), found


def test_many_wrong_values_are_named_up_to_a_point(demo_store_file, tmp_path):
    path = shutil.copy(demo_store_file, tmp_path / "lots.db")
    with duckdb.connect(str(path)) as database:
        database.execute("update result set value_high = value_high + 1")
    with Store.open(path) as store:
        values = [fault for fault in store.verify().faults if fault.startswith("result ")]

    assert len(values) == 20


def test_every_change_of_the_store_has_its_entry(eventful_file, tmp_path):
    with Store.open(shutil.copy(eventful_file, tmp_path / "lots.db")) as store:
        entries = store.audit(most=1000)

    assert entries["sequence"].tolist() == list(range(len(entries), 0, -1))
    assert set(entries["action"]) >= {
        "received",
        "dismissed held rows",
        "checked again",
        "asked for a signature: rejected",
        "first signature: rejected",
        "signed: on hold",
        "signed: rejected",
        "froze a baseline",
        "opened an investigation",
        "closed an investigation",
        "attached a file",
        "second signature: made void",
        "invalidated a result",
    }
    rejected = entries[entries["action"] == "signed: rejected"].iloc[0]
    assert (rejected["actor"], rejected["subject"]) == ("Mara Quill", "L-1")
    assert json.loads(rejected["detail"])["reason"] == "too mild"


def test_the_chain_can_be_asked_about_one_subject(eventful_file, tmp_path):
    with Store.open(shutil.copy(eventful_file, tmp_path / "lots.db")) as store:
        mine = store.audit("L-1")

        signed = [one for one in mine["action"] if one.startswith("signed: ")]
        assert signed == ["signed: rejected", "signed: on hold"]
        assert store.revision()[1] == len(store.audit(most=1000))
