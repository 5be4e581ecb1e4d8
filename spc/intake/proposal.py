"""A source profile proposed for a file that none fits; what the file leaves open is asked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import pandas as pd
import tomli_w

from spc import units
from spc.errors import UnknownUnit
from spc.intake.catalogue import Catalogue
from spc.intake.date_styles import date_styles
from spc.intake.header_words import CHARACTERISTICS, MEANINGS, likeness, plain, unit_in
from spc.intake.methods import MeasuringMethod
from spc.intake.profile import LOT_MEANINGS, FileForm, Headers, Measure
from spc.intake.profile import MEANINGS as READ
from spc.intake.readers import Table
from spc.intake.readers.findings import Ambiguity
from spc.intake.readers.signs import is_number

TIME_OF_DAY: Final = "time of day"
_UNIT: Final = "unit"
# A file that announces lots has at least these of them.
_ANNOUNCING: Final = {"material", "supplier", "received_at"}
_CHEMICAL: Final = ("molarity", "mass concentration", "mass fraction", "pungency")
# Share of numbers from which a column is one of readings; the others may say "n.d." or nothing.
_NUMERIC: Final = 0.5
_LOOKED_AT: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A column, or several of compounds, that seems to hold what was measured.

    Attributes
    ----------
    reading, parts
        Header, or compound to header.
    candidates
        Methods of the catalogue that could have measured it; one if it is plain.
    unit, unit_column
        Empty where neither the header nor another column says it.
    """

    reading: str = ""
    parts: Mapping[str, str]
    candidates: tuple[MeasuringMethod, ...]
    unit: str = ""
    unit_column: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What a file seems to say.

    Attributes
    ----------
    columns
        Meaning to header, or to the headers of a day and its time; what is not read is left out.
    readings
        One of each column of readings.
    date_styles
        Every style in which its dates can be read; to be asked if there is not exactly one.
    """

    columns: Mapping[str, Headers]
    readings: tuple[Reading, ...]
    date_styles: tuple[str, ...]


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
    named = _by_name(table.headers)
    if _ANNOUNCING - named.keys():
        named = {meaning: one for meaning, one in named.items() if meaning not in LOT_MEANINGS}
    unit_column = named.pop(_UNIT, "")
    clock = named.pop(TIME_OF_DAY, "")
    columns: dict[str, Headers] = {meaning: (header,) for meaning, header in named.items()}
    if clock:
        columns["measured_at"] = (*columns.get("measured_at", ()), clock)
    taken = {header for headers in columns.values() for header in headers} | {unit_column}
    rest = [header for header in table.headers if header not in taken]
    return Proposal(
        columns=columns,
        readings=tuple(_readings(table, rest, unit_column, catalogue)),
        date_styles=styles(table, columns),
    )


def styles(table: Table, columns: Mapping[str, Headers]) -> tuple[str, ...]:
    """Every style in which the dates of all columns of dates can be read."""
    dated = [columns[meaning] for meaning in ("measured_at", "received_at") if meaning in columns]
    found = [
        date_styles(table.cells[list(headers)].agg(" ".join, axis=1).str.strip())
        for headers in dated
    ]
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
    told = {
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
    return tomli_w.dumps(told)


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
        read_in = unit or (_first_unit(table.cells[unit_column]) if unit_column else "")
        candidates = _candidates(header, table.cells[header], read_in, catalogue)
        if candidates:
            column = "" if unit or _is_absence(candidates, catalogue) else unit_column
            own = _unit_of(candidates, catalogue) if _is_absence(candidates, catalogue) else unit
            found.append(
                Reading(
                    reading=header, parts={}, candidates=candidates, unit=own, unit_column=column
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


def _candidates(
    header: str, texts: pd.Series, unit: str, catalogue: Catalogue
) -> tuple[MeasuringMethod, ...]:
    """Methods that could have measured a column: by its name, or else by its numbers' unit."""
    names = {
        one.characteristic: likeness(
            header, (plain(one.characteristic), *CHARACTERISTICS.get(one.characteristic, ()))
        )
        for one in catalogue.characteristics
    }
    best = max(names.values(), default=0.0)
    if best:
        meant = {name for name, score in names.items() if score == best}
        named = [one for one in catalogue.methods if one.characteristic in meant]
        return tuple(one for one in named if _fits(unit, one, catalogue)) or tuple(named)
    said = texts[texts != ""].iloc[:_LOOKED_AT]
    numeric = len(said) and sum(map(is_number, said)) / len(said) >= _NUMERIC
    if not numeric or not (unit or _is_general(header)):
        return ()
    return tuple(one for one in catalogue.methods if _fits(unit, one, catalogue))


def _first_unit(texts: pd.Series) -> str:
    """The first known unit of a column of units."""
    return next((unit for text in texts.unique() if (unit := unit_in(text))), "")


def _fits(unit: str, method: MeasuringMethod, catalogue: Catalogue) -> bool:
    return not unit or _leads_to(unit, _characteristic_unit(method, catalogue))


_GENERAL: Final = (
    "reading", "result", "value", "messwert", "ergebnis", "wert", "lecture", "resultat", "valeur",
    "lectura", "resultado", "valor",
)  # fmt: skip


def _is_general(header: str) -> bool:
    return likeness(header, _GENERAL) > 0.0


def _characteristic_unit(method: MeasuringMethod, catalogue: Catalogue) -> str:
    found = catalogue.characteristic(method.characteristic)
    return found.unit if found else ""


def _leads_to(unit: str, target: str) -> bool:
    try:
        kind, wanted = units.measures(unit), units.measures(target)
    except UnknownUnit:
        return False
    return kind == wanted or (wanted == "heat" and kind in _CHEMICAL)


def _is_absence(candidates: Sequence[MeasuringMethod], catalogue: Catalogue) -> bool:
    found = catalogue.characteristic(candidates[0].characteristic)
    return found is not None and found.kind == "absence"


def _unit_of(candidates: Sequence[MeasuringMethod], catalogue: Catalogue) -> str:
    return _characteristic_unit(candidates[0], catalogue)


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
