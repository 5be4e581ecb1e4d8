"""Approvals: which specifications and corrections are in force, since when, and by whose word."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any, Final, Literal, NamedTuple, TypeAlias

from spc.acceptance import Specification
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MethodVersion
from spc.store.file.cursors import Cursor, records
from spc.store.record import rows

Kind = Literal["specification", "correction", "method"]
How = Literal["signed", "history", "as received"]

# What a catalogue states and a person approves.
Entry: TypeAlias = Specification | AdoptedCorrection | MethodVersion

SPECIFICATION: Final = "specification"
CORRECTION: Final = "correction"

# Between method, characteristic, material and supplier of a correction.
_BETWEEN: Final = " | "

EVERY: Final = """
    select
        approval.* exclude (entry),
        coalesce(later.name, '')                                 as countersigned_by,
        coalesce(first.one_person, false) and later.name is null as one_person
    from approval
    left join signature as first on first.request = approval.request and first.place = 1
    left join signature as later on later.request = approval.request and later.place = 2
                                and first.one_person
    where $kind in ('', approval.kind)
      and $name in ('', approval.name)
    order by approval.kind, approval.name, approval.version
"""

STANDING: Final = """
    select kind, name, version, effective_from, approved_by, reason
    from approval
"""


class Key(NamedTuple):
    """Names one version of what is approved."""

    kind: Kind
    name: str
    version: int


class Standing(NamedTuple):
    """From when on an approved version counts, by whose word, and why."""

    effective_from: date
    approved_by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Approval:
    """The approval of one version.

    Attributes
    ----------
    name
        The material; of a correction its method, characteristic, material and supplier; of a
        method itself and the characteristic.
    effective_from
        First day of receipt of the lots that it is for.
    how
        Signed here; history, taken in with the signed first day of the record; or as received in
        a version of the store that asked for no approval.
    request
        What was signed; empty unless `how` is "signed".
    approved_by
        Names of those who signed, or whom the file names.
    countersigned_by
        Name of who signed later beside one person alone; empty for nobody.
    one_person
        Whether it was approved by one person alone and nobody has countersigned it.
    approved_at
        When it came into force in this store, UTC: the time of the last signature needed.
    """

    kind: Kind
    name: str
    version: int
    effective_from: date
    how: How
    request: str
    approved_by: str
    reason: str
    approved_at: datetime
    countersigned_by: str = ""
    one_person: bool = False


def key_of(entry: Entry) -> Key:
    """What names a version in the store."""
    if isinstance(entry, Specification):
        return Key("specification", entry.material, entry.version)
    if isinstance(entry, MethodVersion):
        named = _BETWEEN.join((entry.method, entry.characteristic))
        return Key("method", named, entry.version)
    named = _BETWEEN.join((entry.method, entry.characteristic, entry.material, entry.supplier))
    return Key("correction", named, entry.version)


def standing(cursor: Cursor) -> dict[Key, Standing]:
    """Everything that was approved."""
    return {
        Key(kind, name, version): Standing(*facts)
        for kind, name, version, *facts in cursor.execute(STANDING).fetchall()
    }


def every(cursor: Cursor, *, kind: str = "", name: str = "") -> tuple[Approval, ...]:
    """All approvals, or those of a kind or a name, by version."""
    return tuple(Approval(**row) for row in records(cursor, EVERY, {"kind": kind, "name": name}))


def of_specification(cursor: Cursor, material: str, version: int) -> Approval | None:
    """The approval of one version of a material's specification; None if it waits."""
    found = every(cursor, kind=SPECIFICATION, name=material)
    return next((one for one in found if one.version == version), None)


def put(cursor: Cursor, approved: Iterable[Approval]) -> list[dict[str, Any]]:
    """Write approvals down; the caller records them with the rows that come back."""
    later = {"countersigned_by", "one_person"}
    written = [
        {name: value for name, value in asdict(one).items() if name not in later}
        for one in approved
    ]
    rows.insert(cursor, "approval", written)
    return [
        {
            **row,
            "effective_from": str(row["effective_from"]),
            "approved_at": str(row["approved_at"]),
        }
        for row in written
    ]
