"""Source profiles: how one laboratory's or instrument's file maps to results."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Final, Literal
from zoneinfo import ZoneInfo

from spc.errors import BadProfile

Headers = tuple[str, ...]

# What a column can mean; everything else in a file is kept with its bytes only.
MEANINGS: Final = (
    "lot",
    "sample",
    "replicate",
    "measured_at",
    "operator",
    "instrument",
    "sensor_batch",
    "extract_mass_g",
    "extract_volume_mL",
    "cell_dilution",
)
LOT_MEANINGS: Final = (
    "material",
    "supplier",
    "supplier_lot",
    "received_at",
    "harvest_year",
    "packages",
    "package_kg",
    "price_per_kg",
)
DECISION_MEANINGS: Final = ("decision", "decided_at", "by", "role", "reason", "second_person")


@dataclass(frozen=True, slots=True, kw_only=True)
class FileForm:
    """How the bytes are laid out.

    Attributes
    ----------
    skip_rows
        Rows before the header.
    header_rows
        2 where an upper row groups the columns; the names are then joined ``"Upper | Lower"``.
    comment
        A line that starts with it is not a row.
    missing
        Cell texts that mean "not measured".
    """

    kind: Literal["delimited", "workbook"] = "delimited"
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    thousands: str = ""
    skip_rows: int = 0
    header_rows: int = 1
    sheet: str = ""
    comment: str = ""
    date_format: str = "%Y-%m-%d %H:%M:%S"
    time_zone: str = "UTC"
    missing: tuple[str, ...] = ("",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One characteristic that a row reports."""

    characteristic: str
    method: str
    reading: str = ""
    parts: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    unit_column: str = ""
    basis: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceProfile:
    """How one source's files are read.

    Attributes
    ----------
    columns, lots, decisions
        Meaning to header, or to several headers whose texts are joined by a blank.
    currency
        Literal currency of prices.
    spellings
        By kind (supplier, material, unit): text in the file to the name in the catalogue.
    words
        Text of an absence test to ``"absent"`` or ``"detected"``.
    """

    profile: str
    version: int
    source: str
    form: FileForm
    columns: Mapping[str, Headers]
    measures: tuple[Measure, ...]
    lots: Mapping[str, Headers]
    decisions: Mapping[str, Headers]
    currency: str
    spellings: Mapping[str, Mapping[str, str]]
    words: Mapping[str, str]

    @property
    def headers(self) -> frozenset[str]:
        """Every header the profile needs; a file that has them all is one of its source's."""
        groups = (self.columns, self.lots, self.decisions)
        named = [name for group in groups for names in group.values() for name in names]
        for measure in self.measures:
            named += [measure.reading, measure.unit_column, *measure.parts.values()]
        return frozenset(name for name in named if name)


def is_profile(text: str) -> bool:
    """Whether a TOML text is a source profile."""
    return any(line.replace(" ", "").startswith("profile=") for line in text.splitlines())


def parse(text: str) -> SourceProfile:
    """A source profile from its TOML text.

    Raises
    ------
    BadProfile
        If the text is not TOML, a key is missing or means nothing, or no column names the lot.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise BadProfile(
            f"it is not well-formed TOML: {problem}.",
            where="source profile",
            remedy="Mend that line and receive the profile again.",
        ) from problem
    return _profile(table)


def _profile(table: Mapping[str, Any]) -> SourceProfile:
    where = f"profile {table.get('profile', 'without a name')}"
    lots = dict(table.get("lots", {}))
    currency = str(lots.pop("currency", ""))
    profile = SourceProfile(
        profile=str(_needed(table, "profile", where)),
        version=int(table.get("version", 1)),
        source=str(table.get("source", "")),
        form=_form(dict(_needed(table, "file", where)), where),
        columns=_headers(_needed(table, "columns", where), MEANINGS, where),
        measures=tuple(_measure(dict(one), where) for one in table.get("measure", ())),
        lots=_headers(lots, LOT_MEANINGS, where),
        decisions=_headers(table.get("decisions", {}), DECISION_MEANINGS, where),
        currency=currency,
        spellings={kind: dict(names) for kind, names in table.get("spellings", {}).items()},
        words={str(key).casefold(): value for key, value in table.get("words", {}).items()},
    )
    if "lot" not in profile.columns:
        raise _bad("[columns] names no column for the lot.", where)
    if not (profile.measures or profile.lots or profile.decisions):
        raise _bad("it maps neither measures, lots nor decisions.", where)
    return profile


def _form(entry: dict[str, Any], where: str) -> FileForm:
    _only(entry, {one.name for one in fields(FileForm)}, f"{where}, [file]")
    if "missing" in entry:
        entry["missing"] = tuple(entry["missing"])
    form = FileForm(**entry)
    try:
        ZoneInfo(form.time_zone)
    except (KeyError, ValueError, OSError) as problem:
        raise _bad(f"there is no time zone {form.time_zone!r}.", where) from problem
    if form.decimal not in (".", ",") or form.decimal == form.thousands:
        raise _bad("decimal must be '.' or ',' and differ from thousands.", where)
    return form


def _measure(entry: dict[str, Any], where: str) -> Measure:
    _only(entry, {one.name for one in fields(Measure)}, f"{where}, [[measure]]")
    for key in ("characteristic", "method"):
        _needed(entry, key, f"{where}, [[measure]]")
    measure = Measure(**entry)
    if bool(measure.reading) == bool(measure.parts):
        raise _bad("a measure names either one reading or its parts.", where)
    if not (measure.unit or measure.unit_column):
        raise _bad(f"the measure of {measure.characteristic} has no unit.", where)
    return measure


def _headers(entry: Any, meanings: tuple[str, ...], where: str) -> dict[str, Headers]:
    _only(entry, set(meanings), where)
    return {
        meaning: (header,) if isinstance(header, str) else tuple(header)
        for meaning, header in entry.items()
    }


def _needed(entry: Mapping[str, Any], key: str, where: str) -> Any:
    if key not in entry:
        raise _bad(f"the key {key!r} is missing.", where)
    return entry[key]


def _only(entry: Mapping[str, Any], allowed: set[str], where: str) -> None:
    stranger = sorted(set(entry) - allowed)
    if stranger:
        raise _bad(f"the key {stranger[0]!r} means nothing here.", where)


def _bad(what: str, where: str) -> BadProfile:
    return BadProfile(what, where=where, remedy="Correct the profile and receive it again.")
