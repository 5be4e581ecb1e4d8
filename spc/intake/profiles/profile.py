"""Source profiles: how one laboratory's or instrument's file maps to results."""

import io
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal
from zoneinfo import ZoneInfo

from spc.errors import BadProfile
from spc.intake.entries import misfit, shortened
from spc.intake.profiles.date_forms import misform
from spc.intake.profiles.selection import Where, common
from spc.intake.toml_text import toml_tables

Headers = tuple[str, ...]
Unnumbered = Literal["", "replicates", "repeats"]

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
SPELLED: Final = ("supplier", "material", "unit")
# What of all this is a date.
DATES: Final = ("measured_at", "received_at", "decided_at")
# What stands in a proposed profile where a person has to decide: the number of the question.
UNANSWERED: Final = re.compile(r"\?[0-9]+")
# Days for which a source may be trusted to correct itself.
_LONGEST_TRUST: Final = 365
DECISION_MEANINGS: Final = ("decision", "decided_at", "by", "role", "reason", "second_person")


@dataclass(frozen=True, slots=True, kw_only=True)
class FileForm:
    """How the bytes are laid out.

    Attributes
    ----------
    skip_rows
        Rows before the header; a first line that declares the delimiter is none.
    header_rows
        2 where an upper row groups the columns; the names are then joined ``"Upper | Lower"``.
    unit_row
        Whether a row of units follows the header; they join the names as ``"Heat [SHU]"``.
    rows_at
        Keys that lead to the list of rows in a JSON file; none if the file is that list.
    comment
        A line that starts with it is not a row.
    date_format
        As `strptime` has it, or ``"ISO8601"``; what a workbook or a Parquet file holds as a moment,
        and not as text, is read whatever this says.
    missing, below_limit, above_range
        Cell texts that mean "not measured", "below what the method can quantify", "above what it is
        calibrated for".
    read_hidden, read_struck
        Whether hidden rows, columns and sheets of a workbook are read, and cells that are struck
        through; else they wait for a person.
    fill_merged
        Whether a value that is merged downwards in a workbook is that of every row it spans; else
        these rows wait.
    """

    kind: Literal["delimited", "workbook", "json", "json lines", "parquet"] = "delimited"
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    thousands: str = ""
    skip_rows: int = 0
    header_rows: int = 1
    unit_row: bool = False
    sheet: str = ""
    rows_at: tuple[str, ...] = ()
    comment: str = ""
    date_format: str = "%Y-%m-%d %H:%M:%S"
    time_zone: str = "UTC"
    missing: tuple[str, ...] = ("",)
    below_limit: tuple[str, ...] = ()
    above_range: tuple[str, ...] = ()
    read_hidden: bool = False
    read_struck: bool = False
    fill_merged: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One characteristic that a row reports.

    Attributes
    ----------
    reading, parts
        Header of the reading, or compound to header.
    printed
        Header of the same value as the source prints it, in the characteristic's unit; a row
        whose parts give another is held.
    printed_total
        Header of the sum of the parts as the source prints it, in `unit`.
    where
        Header to the words that a row must have there to be read; every row is, if there is none.
        So a long table is read, in which a column says what was measured.
    """

    characteristic: str
    method: str
    where: Where = field(default_factory=dict)
    reading: str = ""
    parts: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    unit_column: str = ""
    basis: str = ""
    printed: str = ""
    printed_total: str = ""

    @property
    def read_at(self) -> Headers:
        """Headers of what was measured: of one reading, or of each part."""
        return (self.reading,) if self.reading else tuple(self.parts.values())

    @property
    def headers(self) -> frozenset[str]:
        """Every header that it needs."""
        more = (self.unit_column, self.printed, self.printed_total)
        return frozenset(name for name in (*self.read_at, *self.where, *more) if name)


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
    unnumbered
        What several rows of one lot and time are that name no sample: ``"replicates"``, each a test
        of its own, or ``"repeats"`` of one; where it is empty, a person is asked.
    corrects_within_days
        For how long after a result came in the source is trusted to correct it without a person,
        where the lot is not decided; 0 if it never is.
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
    words: Mapping[str, Literal["absent", "detected"]]
    unnumbered: Unnumbered = ""
    corrects_within_days: int = 0

    @property
    def headers(self) -> frozenset[str]:
        """Every header the profile needs; a file that has them all is one of its source's."""
        groups = (self.columns, self.lots, self.decisions)
        named = frozenset(name for group in groups for names in group.values() for name in names)
        return named.union(*(measure.headers for measure in self.measures))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Raw:
    """A profile's TOML text, table by table, before the tables are looked into."""

    profile: str
    version: int = 1
    source: str = ""
    file: Mapping[str, object]
    columns: Mapping[str, str | tuple[str, ...]]
    measure: tuple[Mapping[str, object], ...] = ()
    lots: Mapping[str, str | tuple[str, ...]] = field(default_factory=dict)
    decisions: Mapping[str, str | tuple[str, ...]] = field(default_factory=dict)
    spellings: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    words: Mapping[str, Literal["absent", "detected"]] = field(default_factory=dict)
    unnumbered: Unnumbered = ""
    corrects_within_days: int = 0


def is_profile(text: str) -> bool:
    """Whether a TOML text is a source profile."""
    return any(line.replace(" ", "").startswith("profile=") for line in text.splitlines())


def parse(text: str) -> SourceProfile:
    """A source profile from its TOML text.

    Raises
    ------
    BadProfile
        If the text is not TOML, a key is missing or means nothing, a question of a proposal is
        not answered, or no column names the lot.
    """
    return _profile(toml_tables(text, refusal=BadProfile, where="source profile"))


def _profile(table: Mapping[str, Any]) -> SourceProfile:
    where = f"profile {shortened(table.get('profile', 'without a name'))}"
    _refuse_unanswered(table, where)
    _fits(_Raw, table, where)
    raw = _Raw(**table)
    _only(raw.spellings, set(SPELLED), f"{where}, [spellings]")
    lots = dict(raw.lots)
    currency = str(lots.pop("currency", ""))
    profile = SourceProfile(
        profile=raw.profile,
        version=raw.version,
        source=raw.source,
        form=_form(dict(raw.file), where),
        columns=_headers(raw.columns, MEANINGS, f"{where}, [columns]"),
        measures=tuple(_measure(dict(one), where) for one in raw.measure),
        lots=_headers(lots, LOT_MEANINGS, f"{where}, [lots]"),
        decisions=_headers(raw.decisions, DECISION_MEANINGS, f"{where}, [decisions]"),
        currency=currency,
        spellings={kind: dict(names) for kind, names in raw.spellings.items()},
        words={word.casefold(): meaning for word, meaning in raw.words.items()},
        unnumbered=raw.unnumbered,
        corrects_within_days=raw.corrects_within_days,
    )
    if not 0 <= profile.corrects_within_days <= _LONGEST_TRUST:
        raise _bad(f"corrects_within_days must be 0 to {_LONGEST_TRUST}.", where)
    if "lot" not in profile.columns:
        raise _bad("[columns] names no column for the lot.", where)
    if not (profile.measures or profile.lots or profile.decisions):
        raise _bad("it maps neither measures, lots nor decisions.", where)
    _check_selections(profile.measures, where)
    return profile


def _refuse_unanswered(table: Mapping[str, Any], where: str) -> None:
    """Refuse a proposal in which a person has still to put something in place of ``"?1"``."""
    waiting: list[Any] = [table]
    while waiting:
        part = waiting.pop()
        if isinstance(part, str) and UNANSWERED.fullmatch(part):
            raise BadProfile(
                f"its question {part.removeprefix('?')} is not answered.",
                where=where,
                remedy=f"Write the answer in place of {part!r}; the remarks above it say which"
                " there are.",
            )
        if isinstance(part, Mapping):
            waiting += part.values()
        elif isinstance(part, list):
            waiting += part


def _check_selections(measures: Sequence[Measure], where: str) -> None:
    """Refuse two measures that would read one cell of a row as two things."""
    for one, other in itertools.combinations(measures, 2):
        shared = sorted(set(one.read_at) & set(other.read_at))
        if (one.where or other.where) and shared and common(one.where, other.where):
            raise _bad(
                f"{one.characteristic} by {one.method} and {other.characteristic} by"
                f" {other.method} would both read {shared[0]!r} of the same row.",
                f"{where}, [[measure]]",
            )


def _form(entry: dict[str, Any], where: str) -> FileForm:
    _fits(FileForm, entry, f"{where}, [file]")
    for several in {"missing", "below_limit", "above_range", "rows_at"} & set(entry):
        entry[several] = tuple(entry[several])
    form = FileForm(**entry)
    _check_layout(form, where)
    try:
        ZoneInfo(form.time_zone)
    except (KeyError, ValueError, OSError) as problem:
        raise _bad(f"there is no time zone {form.time_zone!r}.", where) from problem
    if form.decimal not in (".", ",") or form.decimal == form.thousands:
        raise _bad("decimal must be '.' or ',' and differ from thousands.", where)
    return form


def _check_layout(form: FileForm, where: str) -> None:
    """Refuse what would only fail with the first file, and with every file of every source."""
    try:
        # Some codecs are known by name, but read no text.
        io.TextIOWrapper(io.BytesIO(), encoding=form.encoding)
    except LookupError as problem:
        raise _bad(f"there is no encoding {form.encoding!r}.", where) from problem
    if len(form.delimiter) != 1 or form.delimiter in '"\r\n':
        raise _bad("the delimiter must be one sign, and not a quote.", where)
    if form.skip_rows < 0 or form.header_rows not in (1, 2):
        raise _bad("skip_rows must be zero or more, and header_rows 1 or 2.", where)
    if wrong := misform(form.date_format):
        raise _bad(wrong, where)


def _measure(entry: dict[str, Any], where: str) -> Measure:
    _fits(Measure, entry, f"{where}, [[measure]]")
    entry["where"] = {header: tuple(words) for header, words in entry.get("where", {}).items()}
    measure = Measure(**entry)
    if not all(header and words for header, words in measure.where.items()):
        raise _bad(f"where names no column or no word for {measure.characteristic}.", where)
    if bool(measure.reading) == bool(measure.parts):
        raise _bad("a measure names either one reading or its parts.", where)
    if not (measure.unit or measure.unit_column):
        raise _bad(f"the measure of {measure.characteristic} has no unit.", where)
    if measure.printed_total and not (measure.parts and measure.unit):
        raise _bad("a printed total needs parts that have one unit.", where)
    return measure


def _headers(
    entry: Mapping[str, str | tuple[str, ...]], meanings: tuple[str, ...], where: str
) -> dict[str, Headers]:
    _only(entry, set(meanings), where)
    headers = {
        meaning: (header,) if isinstance(header, str) else tuple(header)
        for meaning, header in entry.items()
    }
    for meaning, named in headers.items():
        if not named or not all(named):
            raise _bad(f"{meaning} names no column.", where)
    return headers


def _fits(kind: type, entry: Mapping[str, Any], where: str) -> None:
    wrong = misfit(kind, entry)
    if wrong:
        raise _bad(wrong, where)


def _only(entry: Mapping[str, Any], allowed: set[str], where: str) -> None:
    stranger = sorted(set(entry) - allowed)
    if stranger:
        raise _bad(f"the key {shortened(repr(stranger[0]))} means nothing here.", where)


def _bad(what: str, where: str) -> BadProfile:
    return BadProfile(what, where=where, remedy="Correct the profile and receive it again.")
