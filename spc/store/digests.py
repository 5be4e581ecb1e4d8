"""What each receipt brought, sealed: a digest of every row that stands in its name."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from spc.store.connection import Cursor

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
        "disposition": "disposition, lot, decision, decided_by, role, reason, second_person,"
        " scope, expires_on, decided_at, evidence",
        "method": "method, characteristic, version, standing, screening, uncertainty_kind,"
        " standard_uncertainty, repeatability, bias, reading_unit, quantification_limit,"
        " range_upper, dilution_lowest, dilution_highest, factors",
        # Came with the second step of the schema, as `control` below: no row, no change of a seal.
        "correction": "method, characteristic, material, supplier, version, effective_from,"
        ' against, approved_by, reason, kind, "offset", slope, offset_variance, slope_variance,'
        " covariance, degrees_of_freedom, residual_sd, lowest, highest, lots",
        "specification": "material, version, effective_from, approved_by, reason",
        "source_profile": "profile, version, text",
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
    rows = cursor.execute(_query(), {"receipt": receipt}).fetchall()
    return dict(rows)


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


def _query() -> str:
    # Table and column names are this module's own; nothing of a user's enters the text.
    parts = [
        f"select receipt, '{table} ' || json_array({columns})::varchar as line from {table}"  # noqa: S608
        # A decision signed here stands in no receipt's name, but in the audit chain as a whole.
        + (" where receipt <> ''" if table == "disposition" else "")
        for table, columns in _COLUMNS.items()
    ]
    every = " union all ".join([*parts, _LINES])
    return f"""
        select receipt, sha256(string_agg(line, chr(10) order by line)) as digest
        from ({every})
        where $receipt = '' or receipt = $receipt
        group by receipt
    """  # noqa: S608
