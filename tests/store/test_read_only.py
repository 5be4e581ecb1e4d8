"""A write-protected copy can be looked at and checked."""

import shutil
import stat

import pytest

from spc.errors import StoreError, StoreInUse
from spc.store import Store
from tests.staff import mara


@pytest.fixture
def protected(full_store_file, tmp_path):
    """A copy that may only be read, in a folder that may only be read."""
    folder = tmp_path / "protected"
    folder.mkdir()
    path = folder / "lots.db"
    shutil.copy(full_store_file, path)
    path.chmod(stat.S_IRUSR)
    folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
    yield path
    folder.chmod(stat.S_IRWXU)


def test_a_protected_copy_is_checked_and_stays_as_it_is(protected):
    before = protected.read_bytes()

    with Store.open(protected, read_only=True) as store:
        assert store.verify().faults == ()
        assert store.lot("NEW").decision == "rejected"
        assert store.anchor().entries == store.revision()[1]

    assert protected.read_bytes() == before
    assert list(protected.parent.iterdir()) == [protected]


def test_nothing_is_written_to_a_store_that_is_only_read(protected):
    with Store.open(protected, read_only=True) as store:
        before = store.revision()
        with pytest.raises(StoreError, match="opened to be read only"):
            store.dispose("HELD", "rejected", by=mara(store), reason="no word")
        assert store.revision() == before


def test_a_store_that_is_not_there_is_not_made_by_looking(tmp_path):
    with pytest.raises(StoreError):
        Store.open(tmp_path / "none" / "lots.db", read_only=True)

    assert not (tmp_path / "none").exists()


def test_a_store_in_use_elsewhere_cannot_be_looked_at_beside_it(small_store):
    with pytest.raises((StoreInUse, StoreError)):
        Store.open(small_store.path, read_only=True)
