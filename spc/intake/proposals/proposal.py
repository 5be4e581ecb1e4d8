"""A source profile proposed for a file that none fits; what the file leaves open is asked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import tomli_w

from spc.intake.catalogue import Catalogue
from spc.intake.methods import MeasuringMethod
from spc.intake.profiles.profile import LOT_MEANINGS, FileForm, Headers, Measure
from spc.intake.profiles.profile import MEANINGS as READ
from spc.intake.proposals.candidates import Reading, first_unit, of_column, own_unit
from spc.intake.proposals.date_styles import date_styles
from spc.intake.proposals.header_words import MEANINGS, likeness, plain, unit_in
from spc.intake.proposals.long_tables import (
    LongColumns,
    long_columns,
    named_readings,
    naming_column,
)
from spc.intake.readers import Table
from spc.intake.readers.findings import Ambiguity
from spc.intake.table.columns import joined

TIME_OF_DAY: Final = "time of day"
_UNIT: Final = "unit"
# A file that announces lots has at least these of them.
_ANNOUNCING: Final = {"material", "supplier", "received_at"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What a file seems to say.

    Attributes
    ----------
    columns
        Meaning to header, or to the headers of a day and its time; what is not read is left out.
    readings
        One of each column of readings, or of each word of a long table.
    long
        Which columns say what, if a column names what was measured.
    unit_column
        The column that says the unit; empty if there is none.
    date_styles
        Every style in which its dates can be read; to be asked if there is not exactly one.
    """

    columns: Mapping[str, Headers]
    readings: tuple[Reading, ...]
    date_styles: tuple[str, ...]
    long: LongColumns | None = None
    unit_column: str = ""


def settled(form: FileForm, asked: Ambiguity, answer: str) -> FileForm:
    """A layout after a person answered what the file left open."""
    if asked.about == "decimal":
        return _with_decimal(form, asked, answer)
    if asked.about == "header":
        # The row in doubt is the one above the header that was found.
        above = int(answer) - form.header_rows
        return replace(form, header_rows=int(answer), skip_rows=max(0, form.skip_rows - above))
    if asked.about == "rows":
        return replace(form, rows_at=tuple(filter(None, answer.split("."))))
    changed: dict[str, Any] = {asked.about: answer}
    return replace(form, **changed)


def propose(table: Table, catalogue: Catalogue) -> Proposal:
    """What the columns of a table seem to mean, by their names and by what stands in them.

    Parameters
    ----------
    table
        Read by the layout that the file has.
    catalogue
        The characteristics, and the methods that measure them.
    """
    naming = naming_column(table, catalogue)
    named = _by_name([header for header in table.headers if header != naming])
    if _ANNOUNCING - named.keys():
        named = {meaning: one for meaning, one in named.items() if meaning not in LOT_MEANINGS}
    unit_column = named.pop(_UNIT, "")
    clock = named.pop(TIME_OF_DAY, "")
    columns: dict[str, Headers] = {meaning: (header,) for meaning, header in named.items()}
    if clock:
        columns["measured_at"] = (*columns.get("measured_at", ()), clock)
    taken = {header for headers in columns.values() for header in headers} | {unit_column}
    rest = [header for header in table.headers if header not in taken]
    long = long_columns(table, naming, unit_column, taken=taken) if naming else None
    return Proposal(
        columns=columns,
        readings=named_readings(table, long, catalogue)
        if long
        else tuple(_readings(table, rest, unit_column, catalogue)),
        date_styles=styles(table, columns),
        long=long,
        unit_column=unit_column,
    )


def styles(table: Table, columns: Mapping[str, Headers]) -> tuple[str, ...]:
    """Every style in which the dates of all columns of dates can be read."""
    dated = [columns[meaning] for meaning in ("measured_at", "received_at") if meaning in columns]
    found = [date_styles(joined(table.cells, headers).astype("str")) for headers in dated]
    return tuple(
        style for style in (found[0] if found else ()) if all(style in one for one in found)
    )


def profile_text(
    name: str,
    *,
    version: int,
    source: str,
    form: FileForm,
    columns: Mapping[str, Headers],
    measures: Sequence[Measure],
) -> str:
    """The TOML text of a source profile, as `profile.parse` reads it."""
    told = profile_tables(
        name, version=version, source=source, form=form, columns=columns, measures=measures
    )
    return tomli_w.dumps(told)


def profile_tables(
    name: str,
    *,
    version: int,
    source: str,
    form: FileForm,
    columns: Mapping[str, Headers],
    measures: Sequence[Measure],
) -> dict[str, Any]:
    """The tables of a source profile, without what a profile takes for granted."""
    told: dict[str, Any] = {
        "profile": name,
        "version": version,
        "source": source,
        "file": _stated(form),
        "columns": _stated_headers(columns, READ),
        "measure": [_stated(one) for one in measures],
    }
    announced = _stated_headers(columns, LOT_MEANINGS)
    if announced:
        told["lots"] = announced
    return told


def _with_decimal(form: FileForm, asked: Ambiguity, answer: str) -> FileForm:
    other = "," if answer == "." else "."
    parted = any(other in example for example in asked.examples)
    thousands = other if parted else form.thousands
    return replace(form, decimal=answer, thousands="" if thousands == answer else thousands)


def _by_name(headers: Sequence[str]) -> dict[str, str]:
    """Meaning to the header that is most like it; each header has one meaning."""
    scored = sorted(
        (
            (likeness(header, names), -place, header, meaning)
            for place, header in enumerate(headers)
            for meaning, names in MEANINGS.items()
        ),
        key=lambda one: one[:2],
        reverse=True,
    )
    found: dict[str, str] = {}
    for score, _, header, meaning in scored:
        if score and meaning not in found and header not in found.values():
            found[meaning] = header
    return found


def _readings(
    table: Table, headers: Sequence[str], unit_column: str, catalogue: Catalogue
) -> list[Reading]:
    together = _compounds(headers, catalogue)
    alone = [header for header in headers if not any(header in p.values() for p, _ in together)]
    found = [
        Reading(parts=parts, candidates=(method,), unit=unit_in(next(iter(parts.values()))))
        for parts, method in together
    ]
    for header in alone:
        unit = unit_in(header)
        read_in = unit or (first_unit(table.cells[unit_column]) if unit_column else "")
        candidates = of_column(header, table.cells[header], read_in, catalogue)
        if candidates:
            stated = own_unit(candidates, catalogue) or unit
            found.append(
                Reading(
                    reading=header,
                    parts={},
                    candidates=candidates,
                    unit=stated,
                    unit_column="" if stated else unit_column,
                )
            )
    return found


def _compounds(
    headers: Sequence[str], catalogue: Catalogue
) -> list[tuple[dict[str, str], MeasuringMethod]]:
    """Columns of compounds that a method adds up, where all of its compounds are there."""
    found = []
    for method in catalogue.methods:
        parts = {
            compound: header
            for compound in method.factors
            for header in headers
            if plain(compound) in plain(header).split()
        }
        if len(parts) > 1 and parts.keys() == method.factors.keys():
            found.append((parts, method))
    return found


def _stated(part: FileForm | Measure) -> dict[str, Any]:
    """What differs from what a profile takes for granted."""
    kind = type(part)
    given = {name: getattr(part, name) for name in kind.__dataclass_fields__}
    told = {
        name: value
        for name, value in given.items()
        if value != kind.__dataclass_fields__[name].default and value not in ({}, ())
    }
    return {name: dict(v) if isinstance(v, Mapping) else v for name, v in told.items()}


def _stated_headers(columns: Mapping[str, Headers], group: Sequence[str]) -> dict[str, Any]:
    return {
        meaning: headers[0] if len(headers) == 1 else list(headers)
        for meaning, headers in columns.items()
        if meaning in group
    }
