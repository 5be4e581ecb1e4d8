"""The server's own jobs: anchors signed and stamped, copies, and a record that is looked at."""

import shutil
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
)

from dashboard.frame import upkeep
from dashboard.server import jobs
from dashboard.server.anchoring import anchoring
from dashboard.server.jobs import Keeping
from spc.errors import InvalidInput, ServerRefused
from spc.store import Store, Trust
from spc.store.record import time_stamps
from tests.authority import Authority
from tests.store.test_anchors import forged


@pytest.fixture(scope="module")
def store(small_store_file, tmp_path_factory):
    """A small store that is only looked at."""
    path = tmp_path_factory.mktemp("jobs") / "lots.duckdb"
    with Store.open(shutil.copy(small_store_file, path)) as opened:
        yield opened


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    return Authority(tmp_path_factory.mktemp("authority"))


@contextmanager
def at_an_address(answer, status=200):
    """The address of somebody who answers posts."""

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self):
            asked = self.rfile.read(int(self.headers["content-length"]))
            content = answer(asked)
            self.send_response(status)
            self.send_header("content-length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, *_said):
            pass

    server = HTTPServer(("127.0.0.1", 0), Answering)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/stamp"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def test_an_anchor_is_signed_with_the_key_and_stamped_by_a_third_party(store, authority, tmp_path):
    key = Ed25519PrivateKey.generate()
    pem = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    (tmp_path / "key.pem").write_bytes(pem)
    public = key.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)

    with at_an_address(authority.answer) as address:
        kept = anchoring(
            store.path, folder=tmp_path / "qa", key=tmp_path / "key.pem", authority=address
        )
        done = kept.keep(store)
        kept.keep(store)

    lines = (tmp_path / "qa" / "anchors.txt").read_text()
    told = store.against(lines, Trust(key=public, root=authority.root))
    assert done.good, done.said
    assert (len(told.held), told.faults) == (2, [])
    assert all(", signed, stamped " in one for one in told.held)


@pytest.mark.parametrize(
    ("answer", "status", "said"),
    [
        (lambda _asked: b"", 503, "503"),
        (lambda _asked: b"<html>", 200, "what it answered is no time stamp"),
    ],
)
def test_an_authority_that_gives_no_stamp_is_told_and_the_line_is_kept(
    store, tmp_path, answer, status, said
):
    with at_an_address(answer, status) as address:
        done = anchoring(store.path, folder=tmp_path, authority=address).keep(store)

    assert not done.good
    assert "without its time stamp" in done.said
    assert said in done.said
    assert store.against((tmp_path / "anchors.txt").read_text()).faults == []


def test_a_stamp_of_something_else_is_none(store, authority, tmp_path):
    def lies(_asked):
        return authority.answer(time_stamps.request(b"another line"))

    with at_an_address(lies) as address:
        done = anchoring(store.path, folder=tmp_path, authority=address).keep(store)

    assert "it stamped something else" in done.said


def test_nobody_at_the_address_is_told_too(store, tmp_path):
    done = anchoring(store.path, folder=tmp_path, authority="http://127.0.0.1:1/").keep(store)

    assert (done.good, "without its time stamp" in done.said) == (False, True)


def test_a_past_that_was_written_anew_is_found_by_the_servers_own_anchors(
    small_store_file, tmp_path
):
    path = shutil.copy(small_store_file, tmp_path / "lots.duckdb")
    with Store.open(path) as store:
        jobs.schedule(store, Keeping(anchors=tmp_path / "qa")).look()
    forged(path, "update audit set actor = 'Nobody' where sequence = 2")

    with Store.open(path) as store:
        schedule = jobs.schedule(store, Keeping(anchors=tmp_path / "qa"))
        assert store.verify().ok
        schedule.ask(upkeep.VERIFY, by="Mara Quill")
        schedule.look()
        verify, _ = schedule.told()

    (run,) = verify.runs
    assert not run.good
    assert "the chain was written anew at or before it" in run.said


def test_a_copy_is_made_every_day_with_its_anchor_beside_it(store, tmp_path):
    schedule = jobs.schedule(store, Keeping(anchors=tmp_path, backups=tmp_path / "copies"))

    schedule.look()

    (copy,) = (tmp_path / "copies").glob("*.duckdb")
    assert copy.name.startswith("lots-20")
    (anchor,) = (tmp_path / "copies").glob("*.anchor.txt")
    with Store.open(copy, read_only=True) as made:
        assert made.verify().ok
        assert made.against(anchor.read_text()).faults == []


def test_a_folder_that_cannot_be_used_or_a_key_that_is_none_stops_the_start(store, tmp_path):
    (tmp_path / "file").write_text("in the way")

    with pytest.raises(ServerRefused, match="anchors cannot be kept like this"):
        jobs.schedule(store, Keeping(anchors=tmp_path / "file"))
    with pytest.raises(ServerRefused, match="copies cannot be kept there"):
        jobs.schedule(store, Keeping(anchors=tmp_path, backups=tmp_path / "file"))
    with pytest.raises(InvalidInput, match="no private Ed25519 key"):
        jobs.schedule(store, Keeping(anchors=tmp_path, key=tmp_path / "file"))
