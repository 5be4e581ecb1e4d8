"""What each receipt brought, sealed: a digest of every row that stands in its name."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from types import MappingProxyType
from typing import Final

import pyarrow as pa
import pyarrow.compute as pc

from spc.store.file.cursors import Cursor

# Lines in memory at one time.
_AT_ONCE: Final = 20_000

# Columns are named one by one, so that a column added later does not change an old seal.
_COLUMNS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lot": "lot, material, supplier, supplier_lot, received_at, harvest_year, packages,"
        " package_kg, price_per_kg, currency, source_row",
        "result": "result, source_row, lot, characteristic, method, method_version, sample,"
        " replicate, measured_at, operator, instrument, sensor_batch, reading_text, qualifier,"
        " reading, reading_unit, parts, extract_volume_mL, extract_mass_g, cell_dilution,"
        " factors, basis, value_low, value_high, unit, identity, supersedes, superseding_reason",
        "held_row": "source_row, lot, code, reason, remedy, original",
        "held_row_end": "source_row, how, ended_by, reason, ended_at",
        "held_row_mend": "mend, source_row, header, text, mended_by, reason, mended_at",
        "disposition": "disposition, lot, decision, decided_by, role, reason, second_person,"
        " scope, expires_on, decided_at, evidence",
        "method": "method, characteristic, version, standing, screening, uncertainty_kind,"
        " standard_uncertainty, repeatability, bias, reading_unit, quantification_limit,"
        " range_upper, dilution_lowest, dilution_highest, factors",
        # Came with the second step of the schema, as `control` below, and mends with
        # the fourth: no row, no change of a seal.
        "correction": "method, characteristic, material, supplier, version, effective_from,"
        ' against, approved_by, reason, kind, "offset", slope, offset_variance, slope_variance,'
        " covariance, degrees_of_freedom, residual_sd, lowest, highest, lots",
        "specification": "material, version, effective_from, approved_by, reason",
        "source_profile": "profile, version, text",
    }
)

# The engine reads what a transaction has written with the threads that the rows written before it
# deserve, which is one in a new store; the shares of a long file are read side by side.
_CONDITIONS: Final[Mapping[str, Sequence[str]]] = MappingProxyType(
    {
        # A decision signed here stands in no receipt's name, but in the audit chain as a whole.
        "disposition": ("receipt <> ''",),
        "result": (
            "source_row < $share",
            "source_row >= $share and source_row < 2 * $share",
            "source_row >= 2 * $share and source_row < 3 * $share",
            "source_row >= 3 * $share",
        ),
    }
)

_ENTRIES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "material": "material, form, within_lot_cv, hold_on, due_days, valid_days,"
        " plausible_moisture",
        "supplier": "supplier, country",
        "characteristic": "characteristic, unit, scale, kind",
        "setting": "name, value",
        "control": "control, characteristic, assigned, standard_uncertainty, source",
    }
)

_LINES: Final = """
    select
        specification.receipt,
        json_array(
            material, version, position, characteristic, requirement, lower, upper, target, basis,
            consumer_risk, producer_risk, safety, reference_method_only, source, rule,
            plan_n, plan_k, plan_c, each_sample, jurisdiction
        )::varchar as line
    from specification_line
    join specification using (material, version)
"""


def digests(cursor: Cursor, receipt: str = "") -> dict[str, str]:
    """SHA-256 of what stands in the name of each receipt, or of one.

    Returns
    -------
    dict
        Receipt to digest; a receipt that brought no rows is not in it.
    """
    seals: dict[str, hashlib._Hash] = {}
    given = {"receipt": receipt, "share": _share(cursor, receipt)}
    batches = cursor.execute(_query(), given).to_arrow_reader(_AT_ONCE)
    # One worker, so that lines are added in order, while the engine hands over the next ones.
    with ThreadPoolExecutor(1) as worker:
        for name, lines in _runs(batches):
            worker.submit(_add, seals, name, lines)
    return {name: seal.hexdigest() for name, seal in seals.items()}


def _runs(batches: Iterable[pa.RecordBatch]) -> Iterator[tuple[str, pa.Array]]:
    """Receipts, and the lines of each; a receipt comes again where its lines go on."""
    for batch in batches:
        runs = pc.run_end_encode(batch.column("receipt"), run_end_type=pa.int64())
        first = 0
        for name, last in zip(runs.values.to_pylist(), runs.run_ends.to_pylist(), strict=True):
            yield name, batch.column("line").slice(first, last - first)
            first = last


def _add(seals: dict[str, "hashlib._Hash"], name: str, lines: pa.Array) -> None:
    """Add lines to the seal of a receipt, with a line break between any two."""
    if name in seals:
        seals[name].update(b"\n")
    together = pa.LargeListArray.from_arrays([0, len(lines)], lines)
    text = pc.binary_join(together, "\n")[0].as_buffer()
    seals.setdefault(name, hashlib.sha256()).update(text)


def entries_digest(cursor: Cursor) -> str:
    """SHA-256 of the catalogue's entries that have no versions."""
    parts = [
        f"select '{table} ' || json_array({columns})::varchar as line from {table}"  # noqa: S608
        for table, columns in _ENTRIES.items()
    ]
    every = " union all ".join(parts)
    row = cursor.execute(
        f"select sha256(coalesce(string_agg(line, chr(10) order by line), '')) from ({every})"  # noqa: S608
    ).fetchone()
    return str(row[0]) if row else ""


def _share(cursor: Cursor, receipt: str) -> int:
    """How many rows of a file make one of the four shares in which its results are read."""
    last = cursor.execute(
        "select coalesce(max(source_row), 0) from result where $receipt in ('', receipt)",
        {"receipt": receipt},
    ).fetchone()
    return int(last[0]) // 4 + 1 if last else 1


def _query() -> str:
    # Table and column names are this module's own; nothing of a user's enters the text.
    parts = [
        f"select receipt, '{table} ' || json_array({columns})::varchar as line from {table}"  # noqa: S608
        f" where {condition}"
        for table, columns in _COLUMNS.items()
        for condition in _CONDITIONS.get(table, ("true",))
    ]
    every = " union all ".join([*parts, _LINES])
    # In the order of the lines' bytes, whatever order the engine keeps them in; it sorts them in
    # parallel and hands them over piece by piece, where one text of all would fill the memory.
    return f"""
        select receipt, line
        from ({every})
        where $receipt = '' or receipt = $receipt
        order by receipt, line
    """  # noqa: S608
