"""Attachments: what belongs to a lot and is no table, kept with its bytes."""

import hashlib
import uuid
from typing import Final

import pandas as pd

from spc.errors import InvalidInput, UnknownName
from spc.store.file.cursors import Cursor
from spc.store.lots import lots
from spc.store.people.proofs import Actor
from spc.store.record import audit, rows

ACTION: Final = "attached a file"
LARGEST_MB: Final = 25

OF_LOT: Final = """
    select attachment, name, note, sha256, octet_length(bytes) as size, attached_by, attached_at
    from attachment
    where lot = $lot
    order by entry, attached_at, name
"""


def of_lot(cursor: Cursor, lot: str) -> pd.DataFrame:
    """What is attached to one lot."""
    return cursor.execute(OF_LOT, {"lot": lot}).df()


def content(cursor: Cursor, attachment: str) -> tuple[str, bytes]:
    """Name and bytes of one attachment.

    Raises
    ------
    UnknownName
        If there is none of that name.
    """
    row = cursor.execute(
        "select name, bytes from attachment where attachment = ?", [attachment]
    ).fetchone()
    if row is None:
        raise UnknownName("attachment", attachment, known=[])
    return row[0], row[1]


def attach(cursor: Cursor, lot: str, *, name: str, content: bytes, note: str, by: Actor) -> str:
    """Keep a file with a lot.

    Raises
    ------
    InvalidInput
        If the file is empty or too large.
    UnknownName
        If there is no such lot.
    """
    lots.one(cursor, lot)
    if not content or len(content) > LARGEST_MB * 1_000_000:
        raise InvalidInput(
            f"the file is empty or larger than {LARGEST_MB} MB.",
            where=name,
            remedy="Attach a smaller file, or keep it elsewhere and note the place.",
        )
    key, sha256 = str(uuid.uuid4()), hashlib.sha256(content).hexdigest()
    row = {
        "attachment": key,
        "lot": lot,
        "name": name,
        "note": note.strip(),
        "sha256": sha256,
        "bytes": content,
        "attached_by": by.name,
        "attached_at": audit.moment(cursor),
    }
    rows.insert(cursor, "attachment", [row])
    audit.record(
        cursor,
        actor=by.name,
        action=ACTION,
        subject=lot,
        detail={
            "attachment": key,
            "name": name,
            "note": note.strip(),
            "sha256": sha256,
            "by": by.told(),
        },
    )
    return key
