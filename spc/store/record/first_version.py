"""Stores from before rows had an entry: checked once by what the audit chain then told of them.

The chain sealed what files brought, and told in its entries what else was written; not all of it.
When such a store is opened for the first time, it is checked as far as that goes, before the whole
of it is sealed as it is found.
"""

import json
from collections import Counter
from collections.abc import Callable, Iterable
from typing import Any, Final

from spc.store.file.cursors import Cursor, records
from spc.store.record import chain
from spc.store.record.audit import canonical
from spc.store.record.digests import digests, entries_digest

# What a broken value makes of a comparison that expects a whole one.
_BROKEN: Final = (AttributeError, LookupError, RecursionError, TypeError, ValueError)

ENTRIES: Final = "select actor, action, subject, detail from audit order by sequence"

_FILE_FACTS: Final = ("name", "sha256", "kind", "rows", "stored", "held", "known", "received_by")
_SEALING: Final = ("received", "checked again", "dismissed held rows", "mended held rows")
_STREAM: Final = ("material", "supplier", "characteristic", "method", "basis")
_CHOICE: Final = ("lots", "left_out", "applies_from", "restarts", "kind", "rules")
_SIGNED: Final = ("decision", "role", "reason", "second_person", "scope", "expires_on")
_LEDGER: Final = ("stock_move", "blend", "blend_event", "blend_parent")

Told = list[tuple[str, str, str, dict[str, Any]]]


def faults(cursor: Cursor) -> list[str]:
    """What differs from what the chain told of it."""
    found = chain.read(cursor, step=1).faults
    try:
        told = [
            (actor, action, subject, json.loads(detail))
            for actor, action, subject, detail in cursor.execute(ENTRIES).fetchall()
        ]
    except _BROKEN as problem:
        return [*found, f"the audit chain cannot be read: {problem}."]
    for what, check in _CHECKS.items():
        try:
            found += check(cursor, told)
        except _BROKEN as problem:
            found.append(f"{what} cannot be compared with the audit chain: {problem}.")
    return found


def order_decisions(cursor: Cursor) -> None:
    """Put each decision signed in the store under the entry that tells of it."""
    for sequence, detail in cursor.execute(
        "select sequence, detail from audit where action like 'signed: %'"
    ).fetchall():
        try:
            name = str(json.loads(detail)["disposition"])
        except _BROKEN:
            # Such an entry was found, and named, when the chain was read.
            continue
        cursor.execute(
            "update disposition set entry = ? where disposition = ? and receipt = ''",
            [sequence, name],
        )


def _receipts(cursor: Cursor, told: Told) -> Iterable[str]:
    said = {
        subject: {**detail, "received_by": actor}
        for actor, action, subject, detail in told
        if action == "received"
    }
    facts = ", ".join(_FILE_FACTS)
    for row in records(cursor, f"select receipt, {facts} from receipt"):  # noqa: S608
        entry = said.pop(row.pop("receipt"), {})
        if any(entry.get(fact) != value for fact, value in row.items()):
            yield f"the receipt of {row['name']} differs from its audit entry."
    for entry in said.values():
        yield f"the receipt of {entry['name']} is in the audit chain only."


def _brought(cursor: Cursor, told: Told) -> Iterable[str]:
    stands = digests(cursor)
    sealed = {
        subject: detail["digest"] for _, action, subject, detail in told if action in _SEALING
    }
    names = dict(cursor.execute("select receipt, name from receipt").fetchall())
    for receipt, digest in sealed.items():
        if stands.get(receipt, "") != digest:
            yield f"what {names.get(receipt, receipt)} brought was changed after it was received."
    for receipt in sorted({*stands, *names} - set(sealed)):
        yield (
            f"rows stand in the name of {names.get(receipt, receipt) or 'no receipt'}, which the"
            " audit chain does not know."
        )


def _catalogue(cursor: Cursor, told: Told) -> Iterable[str]:
    said = [
        detail["entries"]
        for _, action, _, detail in told
        if action == "received" and detail["kind"] == "catalogue"
    ]
    if said and said[-1] != entries_digest(cursor):
        yield "materials, suppliers or characteristics were changed after they were received."


def _decisions(cursor: Cursor, told: Told) -> Iterable[str]:
    said = Counter(
        canonical({**detail, "lot": subject, "by": actor})
        for actor, action, subject, detail in told
        if action.startswith("signed: ")
    )
    stand: Counter[str] = Counter()
    for row in records(cursor, "select * from disposition where receipt = ''"):
        facts = {name: row[name] for name in (*_SIGNED, "disposition", "lot")}
        facts |= {"by": row["decided_by"], "evidence": json.loads(row["evidence"])}
        facts |= {"decided_at": row["decided_at"].isoformat(timespec="microseconds")}
        stand[canonical(facts)] += 1
    for one in _unlike(stand, said):
        yield f"disposition {one['disposition']} of lot {one['lot']} differs from its audit entry."


def _baselines(cursor: Cursor, told: Told) -> Iterable[str]:
    said = Counter(
        canonical({**detail, "stream": subject, "by": actor})
        for actor, action, subject, detail in told
        if action == "froze a baseline"
    )
    stand: Counter[str] = Counter()
    for row in records(cursor, "select * from baseline"):
        lists = {name: json.loads(row[name]) for name in ("lots", "left_out", "rules")}
        stream = ", ".join(row[name] for name in _STREAM if row[name])
        facts = {name: row[name] for name in (*_CHOICE, "version", "reason")}
        stand[canonical({**facts, **lists, "stream": stream, "by": row["frozen_by"]})] += 1
    for one in _unlike(stand, said):
        yield f"the baseline of {one['stream']} differs from its audit entry."


def _investigations(cursor: Cursor, told: Told) -> Iterable[str]:
    said = Counter(
        canonical({**detail, "lot": subject, "by": actor})
        for actor, action, subject, detail in told
        if action == "opened an investigation"
    )
    said += Counter(
        canonical({**detail, "by": actor})
        for actor, action, _, detail in told
        if action == "closed an investigation"
    )
    stand: Counter[str] = Counter()
    for row in records(cursor, "select * exclude (opened_at) from investigation"):
        row["name"], row["by"] = row.pop("investigation"), row.pop("opened_by")
        stand[canonical(row)] += 1
    for row in records(cursor, "select * exclude (closed_at) from investigation_end"):
        row["name"], row["by"] = row.pop("investigation"), row.pop("closed_by")
        stand[canonical(row)] += 1
    for one in _unlike(stand, said):
        yield f"investigation {one['name']} differs from its audit entry."


def _invalidations(cursor: Cursor, told: Told) -> Iterable[str]:
    said = Counter(
        canonical(
            {
                "result": one,
                "cause": detail["cause"],
                "invalidated_by": actor,
                "second_person": detail["second_person"],
            }
        )
        for actor, action, _, detail in told
        if action in ("invalidated a result", "withdrew results")
        for one in detail.get("results") or [detail["result"]]
    )
    rows = records(cursor, "select * exclude (invalidated_at) from invalidation")
    for one in _unlike(Counter(map(canonical, rows)), said):
        yield f"the invalidation of result {one['result']} differs from its audit entry."


def _attachments(cursor: Cursor, told: Told) -> Iterable[str]:
    said = Counter(
        canonical({**detail, "lot": subject, "attached_by": actor})
        for actor, action, subject, detail in told
        if action == "attached a file"
    )
    rows = records(cursor, "select * exclude (bytes, attached_at) from attachment")
    for one in _unlike(Counter(map(canonical, rows)), said):
        yield f"the attachment {one['name']} differs from its audit entry."


def _stock(cursor: Cursor, told: Told) -> Iterable[str]:
    said = Counter(
        canonical({"table": table, **row})
        for _, _, _, detail in told
        for table, rows in detail.get("written", {}).items()
        for row in rows
    )
    stand: Counter[str] = Counter()
    for table in _LEDGER:
        for row in records(cursor, f"select * from {table}"):  # noqa: S608
            for name in ("moved_at", "drafted_at", "happened_at"):
                if name in row:
                    row[name] = row[name].isoformat(timespec="microseconds")
            stand[canonical({"table": table, **row})] += 1
    for one in _unlike(stand, said):
        name = one.get("lot") or one.get("name") or one["blend"]
        yield f"the {one['table'].replace('_', ' ')} of {name} differs from its audit entry."


def _unlike(stand: Counter[str], said: Counter[str]) -> list[dict[str, Any]]:
    return [json.loads(one) for one in sorted((stand - said) + (said - stand))]


_CHECKS: Final[dict[str, Callable[[Cursor, Told], Iterable[str]]]] = {
    "receipts": _receipts,
    "what files brought": _brought,
    "the catalogue": _catalogue,
    "decisions": _decisions,
    "baselines": _baselines,
    "investigations": _investigations,
    "invalidations": _invalidations,
    "attachments": _attachments,
    "stock and blends": _stock,
}
