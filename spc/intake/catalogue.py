"""The catalogue: what is bought, from whom, how it is measured, and what it must be."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from spc import units
from spc.acceptance import Line, Specification
from spc.errors import BadCatalogue, LotHeatError
from spc.intake import requirements
from spc.intake.characteristics import Characteristic, check_extents
from spc.intake.corrections import AdoptedCorrection, check_corrections
from spc.intake.entries import misfit, shortened
from spc.intake.materials import Material, settled
from spc.intake.methods import Control, MeasuringMethod, check_controls, check_methods
from spc.intake.names import no_name
from spc.intake.requirements import bad
from spc.intake.toml_text import toml_tables

Entry = TypeVar("Entry")


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplier:
    """From whom."""

    supplier: str
    country: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Everything a file's rows can refer to.

    Attributes
    ----------
    proposed
        Specifications that a store has received and nobody has approved or turned down; they judge
        nothing.
    """

    materials: tuple[Material, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
    characteristics: tuple[Characteristic, ...] = ()
    methods: tuple[MeasuringMethod, ...] = ()
    controls: tuple[Control, ...] = ()
    corrections: tuple[AdoptedCorrection, ...] = ()
    specifications: tuple[Specification, ...] = ()
    proposed: tuple[Specification, ...] = ()

    @property
    def entries(self) -> int:
        """How many entries there are."""
        groups = (
            self.materials,
            self.suppliers,
            self.characteristics,
            self.methods,
            self.controls,
            self.corrections,
            self.specifications,
        )
        return sum(len(group) for group in groups)

    def characteristic(self, name: str) -> Characteristic | None:
        """One characteristic by name."""
        return next((one for one in self.characteristics if one.characteristic == name), None)

    def method(self, name: str, characteristic: str) -> MeasuringMethod | None:
        """How one method measures one characteristic."""
        return next(
            (
                one
                for one in self.methods
                if one.method == name and one.characteristic == characteristic
            ),
            None,
        )


def is_catalogue(text: str) -> bool:
    """Whether a TOML text is a catalogue, and not a source profile."""
    return any(f"[[{group}]]" in text for group in _GROUPS)


def parse(text: str, *, known: Catalogue | None = None) -> Catalogue:
    """A catalogue from its TOML text.

    Parameters
    ----------
    text
        The file's text.
    known
        Entries that the text may refer to without repeating them.

    Raises
    ------
    BadCatalogue
        If the text is not TOML, an entry lacks a key, has one that means nothing, or refers to
        a material or characteristic that is not there.
    """
    table = toml_tables(text, refusal=BadCatalogue, where="catalogue")
    stranger = sorted(set(table) - {*_GROUPS})
    if "today" in stranger:
        raise BadCatalogue(
            "a file does not say what day it is in a store.",
            where="catalogue",
            remedy="Take the line `today` out; the day of a trial store is signed by its"
            " administrator, as a house rule.",
        )
    if stranger:
        raise bad(f"the key {shortened(repr(stranger[0]))} means nothing here.", where="catalogue")
    before = known or Catalogue()
    characteristics = tuple(_entries(table, "characteristic", Characteristic))
    materials = tuple(settled(one) for one in _entries(table, "material", Material))
    catalogue = Catalogue(
        materials=materials,
        suppliers=tuple(_entries(table, "supplier", Supplier)),
        characteristics=characteristics,
        methods=tuple(_entries(table, "method", MeasuringMethod)),
        controls=tuple(_entries(table, "control", Control)),
        corrections=tuple(_entries(table, "correction", AdoptedCorrection)),
        specifications=tuple(
            _specification(
                entry,
                materials={one.material: one for one in (*before.materials, *materials)},
                characteristics={
                    one.characteristic: one for one in (*before.characteristics, *characteristics)
                },
            )
            for entry in _tables(table, "specification")
        ),
    )
    _check(catalogue, before)
    return catalogue


_GROUPS = (
    *("material", "supplier", "characteristic", "method", "control", "correction"),
    "specification",
)
# What rows of files, other entries and people call by it.
_NAMES = ("material", "supplier", "characteristic", "method", "control")


def _tables(table: Mapping[str, Any], group: str) -> list[dict[str, Any]]:
    entries = table.get(group, [])
    if not isinstance(entries, list) or not all(isinstance(one, dict) for one in entries):
        raise bad(f"write [[{group}]] with two brackets, one a {group}.", where=group)
    return entries


def _entries(table: Mapping[str, Any], group: str, kind: type[Entry]) -> Iterable[Entry]:
    for number, entry in enumerate(_tables(table, group), start=1):
        where = f"{group} {number} ({shortened(entry.get(group, 'unnamed'))})"
        _check_fit(kind, entry, where)
        yield kind(**entry)


def _check_fit(kind: type, entry: Mapping[str, Any], where: str) -> None:
    wrong = misfit(kind, entry) or next(
        filter(None, (no_name(entry[key]) for key in _NAMES if entry.get(key))), ""
    )
    if wrong:
        raise bad(wrong, where=where)


def _specification(
    entry: Mapping[str, Any],
    *,
    materials: Mapping[str, Material],
    characteristics: Mapping[str, Characteristic],
) -> Specification:
    where = f"specification of {entry.get('material', 'no material')}"
    material = materials.get(str(entry.get("material")))
    if material is None:
        raise bad("its material is not in the catalogue.", where=where)
    for key in ("hold_on", "due_days", "valid_days", "plausible_moisture"):
        if key in entry:
            raise bad(f"the key {key!r} belongs to the material.", where=where)
    lines = tuple(_line(line, characteristics, where) for line in _tables(entry, "line"))
    head = {key: value for key, value in entry.items() if key != "line"}
    head["effective_from"] = _iso_date(head.get("effective_from"), where)
    _check_fit(Specification, {**head, "lines": lines}, where)
    return material.specification(lines, head)


def _line(
    entry: Mapping[str, Any], characteristics: Mapping[str, Characteristic], where: str
) -> Line:
    name = str(entry.get("characteristic"))
    place = f"{where}, line {name}"
    characteristic = characteristics.get(name)
    if characteristic is None:
        raise bad("its characteristic is not in the catalogue.", where=place)
    return requirements.line(
        entry, unit=characteristic.unit, scale=characteristic.scale, where=place
    )


def _iso_date(value: object, where: str) -> str:
    if not isinstance(value, date):
        raise bad("effective_from must be a date such as 2026-09-01.", where=where)
    return value.isoformat()


def _check(catalogue: Catalogue, before: Catalogue) -> None:
    """Refuse what is said twice, and methods whose characteristic or unit is not known."""
    _check_once(catalogue)
    names = {one.characteristic for one in (*before.characteristics, *catalogue.characteristics)}
    check_methods(catalogue.methods, names)
    check_controls(catalogue.controls, names)
    check_corrections(
        catalogue.corrections,
        methods=(*before.methods, *catalogue.methods),
        materials={one.material for one in (*before.materials, *catalogue.materials)},
        suppliers={one.supplier for one in (*before.suppliers, *catalogue.suppliers)},
    )
    for unit in (
        *(one.unit for one in catalogue.characteristics),
        *(one.reading_unit for one in catalogue.methods),
    ):
        try:
            units.measures(unit)
        except LotHeatError as problem:
            raise bad(str(problem), where="catalogue") from problem
    check_extents(catalogue.characteristics)


def _check_once(catalogue: Catalogue) -> None:
    """Of two entries with one name, nobody could say which stands."""
    names = Counter(
        (
            *(f"material {one.material}" for one in catalogue.materials),
            *(f"supplier {one.supplier}" for one in catalogue.suppliers),
            *(f"characteristic {one.characteristic}" for one in catalogue.characteristics),
            *(f"control {one.control}" for one in catalogue.controls),
            *(one.name for one in catalogue.corrections),
            *(f"method {one.method} of {one.characteristic}" for one in catalogue.methods),
            *(
                f"specification of {one.material}, version {one.version}"
                for one in catalogue.specifications
            ),
        )
    )
    for name, times in names.items():
        if times > 1:
            raise bad("it is described twice in one file.", where=name)
