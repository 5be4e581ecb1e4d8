"""Proposals: versions that were received and wait for their approval."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Final

from spc.acceptance import Specification, changes
from spc.compare.between_methods.corrections import Correction
from spc.errors import UnknownName
from spc.intake.methods import MethodVersion
from spc.store.catalogue import approvals, catalogue, method_versions, turned_down
from spc.store.catalogue.approvals import Entry, Key, key_of
from spc.store.file.cursors import Cursor, records

BROUGHT: Final = """
    select
        'specification' as kind,
        material        as name,
        specification.version,
        proposed_by,
        receipt.received_by,
        receipt.received_at,
        receipt.name as file
    from specification
    join receipt using (receipt)
    union all
    select
        'correction',
        concat_ws(' | ', correction.method, characteristic, material, supplier),
        correction.version,
        proposed_by,
        receipt.received_by,
        receipt.received_at,
        receipt.name
    from correction
    join receipt using (receipt)
    union all
    select
        'method',
        concat_ws(' | ', method.method, characteristic),
        method.version,
        proposed_by,
        receipt.received_by,
        receipt.received_at,
        receipt.name
    from method
    join receipt using (receipt)
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A version that waits for its approval.

    Attributes
    ----------
    entry
        As it was received.
    current
        The version approved last of what it changes; None if it is the first.
    proposed_by
        Id of the person who brought it.
    brought_by, brought_at, file
        Their name, when they did, UTC, and the name of the file.
    """

    entry: Entry
    current: Entry | None
    proposed_by: str
    brought_by: str
    brought_at: datetime
    file: str

    @property
    def key(self) -> Key:
        """What names it in the store."""
        return key_of(self.entry)

    @property
    def subject(self) -> str:
        """What it is called in the record."""
        if isinstance(self.entry, Specification):
            return f"specification {self.entry.version} of {self.entry.material}"
        return f"{self.entry.name}, {self.entry.characteristic}"

    @property
    def overtaken(self) -> bool:
        """Whether a later version was approved since."""
        return self.current is not None and self.current.version > self.key.version

    @property
    def from_approval_on(self) -> bool:
        """Whether it counts from its approval on, and from no other day."""
        return isinstance(self.entry, MethodVersion)

    @property
    def stated_from(self) -> date:
        """The day from which on it would count, as its file states it."""
        since = self.entry.effective_from
        return date.fromisoformat(since) if isinstance(since, str) else since

    @property
    def changed(self) -> tuple[str, ...]:
        """What it changes, a sentence a line; empty where it changes nothing."""
        if isinstance(self.entry, Specification):
            before = self.current if isinstance(self.current, Specification) else None
            return tuple(one.sentence for one in changes(before, self.entry))
        before_figures = _figures(self.current)
        return tuple(
            f"{name.replace('_', ' ')}: {before_figures.get(name, 'none')} to {figure}"
            for name, figure in _figures(self.entry).items()
            if before_figures.get(name) != figure
        )


def waiting(cursor: Cursor) -> tuple[Proposal, ...]:
    """What waits, by name and version.

    What was turned down, or overtaken by a later approved version, no longer does.
    """
    return tuple(
        one
        for one in unapproved(cursor)
        if one.current is None or one.current.version < one.key.version
    )


def one(cursor: Cursor, key: Key) -> Proposal:
    """One version that was neither approved nor turned down.

    Raises
    ------
    UnknownName
        If no such version waits.
    """
    found = {proposal.key: proposal for proposal in unapproved(cursor)}
    if key not in found:
        known = [f"version {each.version} of {each.name}" for each in found]
        raise UnknownName("proposal", f"version {key.version} of {key.name}", known=known)
    return found[key]


def received(cursor: Cursor) -> tuple[Entry, ...]:
    """Every version that was received, as its file states it, whatever became of it."""
    every = catalogue.every(cursor)
    return (*every.specifications, *every.corrections, *method_versions.stated(cursor))


def unapproved(cursor: Cursor) -> Iterator[Proposal]:
    """Every version that was neither approved nor turned down, also what was overtaken."""
    down = turned_down.keys(cursor)
    approved = approvals.standing(cursor)
    brought = {
        Key(row.pop("kind"), row.pop("name"), row.pop("version")): row
        for row in records(cursor, BROUGHT)
    }
    entries = received(cursor)
    in_force = {
        key_of(each): each for each in entries if key_of(each) in approved or _came_in(each)
    }
    for each in entries:
        key = key_of(each)
        if key in in_force or key in down:
            continue
        versions = [other.version for other in in_force if other[:2] == key[:2]]
        row = brought[key]
        yield Proposal(
            entry=each,
            current=in_force[key._replace(version=max(versions))] if versions else None,
            proposed_by=row["proposed_by"],
            brought_by=row["received_by"],
            brought_at=row["received_at"],
            file=row["file"],
        )


def _came_in(one: Entry) -> bool:
    """Whether it is in force without an approval: the first that was stated of a method."""
    return isinstance(one, MethodVersion) and one.version == 1


def _figures(one: Entry | None) -> dict[str, object]:
    """What a correction does or a method states, without when and by whose word."""
    if one is None or isinstance(one, Specification):
        return {}
    if isinstance(one, MethodVersion):
        return asdict(one.stated)
    named = asdict(one)
    return {name: named[name] for name in Correction.__dataclass_fields__}
