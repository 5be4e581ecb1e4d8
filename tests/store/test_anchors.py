"""A line kept elsewhere finds a past that was written anew, and one that was cut."""

import shutil
from dataclasses import replace
from datetime import timedelta

import duckdb
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
)

from spc.errors import InvalidInput, StoreError
from spc.store import Store, Trust, restore
from spc.store.file.cursors import records
from spc.store.file.migrations import steps
from spc.store.record import anchors, audit, chain, seals, time_stamps
from tests.authority import Authority, openssl
from tests.staff import mara

KEY = Ed25519PrivateKey.generate()
PUBLIC = KEY.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def forged(path, *statements, cut=0):
    """What somebody with the file can do: change it, cut it, and make every seal and hash anew."""
    with duckdb.connect(str(path)) as database:
        cursor = database.cursor()
        cursor.execute("begin")
        for statement in statements:
            cursor.execute(statement)
        entries = records(cursor, chain.ALL)
        entries, gone = entries[: len(entries) - cut], entries[len(entries) - cut :]
        cursor.execute("delete from audit")
        for one in gone:
            for table in seals.tables(steps()[-1].number):
                cursor.execute(
                    f"delete from {table} where entry = ?",  # noqa: S608
                    [one["sequence"]],
                )
        previous = audit.FIRST
        for one in entries:
            rows = seals.sealed(cursor, one["sequence"])
            one |= {"previous": previous}
            one |= {"sealed": audit.canonical({"step": steps()[-1].number, "rows": rows})}
            previous = one["hash"] = audit.sealed(one)
            cursor.execute(audit.INSERT, one)
        cursor.execute("commit")
    return path


@pytest.fixture
def copy(full_store_file, tmp_path):
    return shutil.copy(full_store_file, tmp_path / "lots.db")


def lines_of(path, *more):
    with Store.open(path) as store:
        return "\n".join([store.anchor().line, *more])


def test_a_store_holds_its_anchor_and_says_how_many_entries_came_since(copy):
    line = lines_of(copy)

    with Store.open(copy) as store:
        store.dispose("HELD", "rejected", by=mara(store), reason="no word")
        told = store.against(f"{line}\n\n{store.anchor().line}\n")
        entries = store.revision()[1]

    assert told.faults == []
    assert [one.split(" holds: ")[1] for one in told.held] == [
        f"{entries - 3} entries; 3 entries since.",
        f"{entries} entries; no entry since.",
    ]


REJECTED = "update disposition set decision = 'accepted' where decision = 'rejected'"


@pytest.mark.parametrize(
    ("statements", "cut", "sentence"),
    [
        ([REJECTED], 0, "the chain was written anew at or before it"),
        (["update audit set actor = 'Nobody' where sequence = 2"], 0, "written anew"),
        ([], 2, "entries were cut off"),
    ],
)
def test_a_past_that_was_written_anew_or_cut_is_found_by_an_anchor_alone(
    copy, statements, cut, sentence
):
    line = lines_of(copy)
    forged(copy, *statements, cut=cut)

    with Store.open(copy) as store:
        assert store.verify().faults == ()
        (fault,) = store.against(line).faults

    assert sentence in fault


def test_what_came_after_an_anchor_is_not_held_by_it(copy):
    """Said plainly in the README: an anchor says nothing of entries since."""
    line = lines_of(copy)
    with Store.open(copy) as store:
        store.dispose("HELD", "rejected", by=mara(store), reason="no word")
    forged(copy, "update disposition set reason = 'x' where reason = 'no word'")

    with Store.open(copy) as store:
        assert store.against(line).faults == []


def test_a_signed_anchor_is_believed_and_one_signed_by_another_or_by_none_is_not(copy):
    with Store.open(copy) as store:
        one = store.anchor()
        other = one.signed(Ed25519PrivateKey.generate())
        moved = replace(one.signed(KEY), entries=one.entries - 1)
        text = "\n".join(line.line for line in (one.signed(KEY), other, one, moved))
        told = store.against(text, Trust(key=PUBLIC))

    assert [line.split(": ")[1] for line in told.held] == [
        f"{one.entries} entries, signed; no entry since."
    ]
    assert [fault.split(" is not ")[1] for fault in told.faults[:3]] == ["signed with the key."] * 3


def test_a_signature_that_nobody_asks_about_is_named_as_not_looked_at(copy):
    with Store.open(copy) as store:
        (held,) = store.against(store.anchor().signed(KEY).line).held

    assert "its signature not looked at" in held


def test_a_line_goes_out_and_comes_back_the_same(copy):
    with Store.open(copy) as store:
        one = store.anchor()

    for again in (one, one.signed(KEY)):
        assert anchors.parse(again.line) == again
    assert anchors.parse(one.line.replace("head", "hand")) is None
    assert anchors.parse(one.line.replace("T", "t", 1)) is None
    assert anchors.parse(one.line + " ed25519 %%%") is None


def test_a_broken_line_is_named_and_the_others_are_looked_at(copy):
    with Store.open(copy) as store:
        told = store.against(f"a shopping list\n{store.anchor().line}")

    assert told.faults == ["line 1 is no anchor: 'a shopping list'."]
    assert len(told.held) == 1


@pytest.mark.parametrize(
    ("text", "trust", "sentence"),
    [
        ("", Trust(), "there is no anchor in it"),
        ("x", Trust(key=b"none"), "no public Ed25519 key"),
        ("x", Trust(root=b"none"), "no certificate"),
    ],
)
def test_nothing_to_compare_with_is_refused(copy, text, trust, sentence):
    with Store.open(copy) as store, pytest.raises(InvalidInput, match=sentence):
        store.against(text, trust)


def test_a_key_is_read_with_its_secret_only():
    pem = KEY.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"s"))

    assert anchors.private_key(pem, secret=b"s").public_key() == KEY.public_key()
    for secret in (None, b"wrong"):
        with pytest.raises(InvalidInput, match="no private Ed25519 key"):
            anchors.private_key(pem, secret=secret)


def test_anchors_are_added_to_a_file_one_a_line(copy, tmp_path):
    with Store.open(copy) as store:
        one = store.anchor()
        for _ in range(2):
            anchors.append(tmp_path / "anchors.txt", one)

        assert (tmp_path / "anchors.txt").read_text() == f"{one.line}\n{one.line}\n"


def test_a_backup_carries_its_anchor_and_a_forged_one_is_not_restored(copy, tmp_path):
    backup = tmp_path / "kept" / "copy.db"
    with Store.open(copy) as store:
        store.backup(backup)
        line = store.anchor().line
    beside = backup.with_name("copy.db.anchor.txt")

    assert beside.read_text().split()[1:] == line.split()[1:]
    assert restore(backup, tmp_path / "good.db").ok
    forged(backup, REJECTED)
    outcome = restore(backup, tmp_path / "bad.db")

    assert any("written anew" in fault for fault in outcome.faults)
    assert not (tmp_path / "bad.db").exists()


def test_an_anchor_that_is_there_already_is_not_written_over(copy, tmp_path):
    beside = tmp_path / "copy.db.anchor.txt"
    beside.write_text("older")

    with Store.open(copy) as store, pytest.raises(StoreError, match="a file already"):
        store.backup(tmp_path / "copy.db")

    assert beside.read_text() == "older"
    assert not (tmp_path / "copy.db").exists()


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    """A time-stamp authority of our own: what it answers to a request, and its root."""
    own = Authority(tmp_path_factory.mktemp("authority"))
    return own.answer, own.root


def test_a_time_stamp_of_a_third_party_is_checked_without_a_network(copy, authority):
    answer, root = authority
    with Store.open(copy) as store:
        one = store.anchor()
        one = one.stamped(answer(time_stamps.request(one.plain.encode())))
        (held,) = store.against(one.line, Trust(root=root)).held
        (unseen,) = store.against(one.line).held

    assert anchors.parse(one.line) == one
    assert abs(time_stamps.stamped_at(one.token) - one.at) < timedelta(minutes=5)
    assert f"stamped {one.at:%Y-%m-%d}" in held
    assert "its time stamp not looked at" in unseen


def test_a_time_stamp_of_another_line_or_by_another_authority_does_not_hold(copy, authority):
    answer, root = authority
    own = KEY.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    with Store.open(copy) as store:
        one = store.anchor()
        other = one.stamped(answer(time_stamps.request(b"another line")))
        broken = one.stamped(b"no token")
        told = store.against(f"{other.line}\n{broken.line}", Trust(root=root))
        stranger = openssl("req", "-x509", "-key", "/dev/stdin", "-subj", "/CN=Other", stdin=own)
        right = one.stamped(answer(time_stamps.request(one.plain.encode())))
        strange = store.against(right.line, Trust(root=stranger))

    assert told.held == []
    assert all("has a time stamp that does not hold" in fault for fault in told.faults)
    assert len(told.faults) == 2
    assert len(strange.faults) == 1
