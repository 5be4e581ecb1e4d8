"""Materials, suppliers, characteristics, methods and specifications, as the store keeps them."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from spc.acceptance import Line, Specification
from spc.errors import BadCatalogue
from spc.intake.catalogue import Catalogue, Supplier
from spc.intake.characteristics import Characteristic
from spc.intake.materials import Material
from spc.intake.methods import Control
from spc.store.catalogue import approvals, corrections, method_versions, turned_down
from spc.store.catalogue.approvals import Standing
from spc.store.file.cursors import Cursor, records
from spc.store.record import rows

MATERIALS: Final = "select * exclude (entry) from material order by material"

SPECIFICATION_LINES: Final = """
    select specification_line.* exclude (entry), characteristic.unit, characteristic.scale
    from specification_line
    join characteristic using (characteristic)
    order by material, version, position
"""

CHARACTERISTICS: Final = "select * exclude (entry) from characteristic"

CONTROLS: Final = """
    select control, characteristic, assigned, standard_uncertainty, source
    from control
    order by control
"""

# Of a line, in the order of the table; unit and scale are its characteristic's.
_LINE_FACTS: Final = (
    "characteristic",
    "requirement",
    "lower",
    "upper",
    "target",
    "basis",
    "consumer_risk",
    "producer_risk",
    "safety",
    "reference_method_only",
    "source",
    "rule",
    "plan_n",
    "plan_k",
    "plan_c",
    "each_sample",
    "jurisdiction",
)

_MATERIAL_FACTS: Final = ("material", "form", "within_lot_cv", "due_days", "valid_days")
_MATERIAL_LISTS: Final = ("hold_on", "plausible_moisture")

_CHARACTERISTIC_FACTS: Final = ("characteristic", "unit", "scale", "kind", "lowest", "highest")

_CONTROL_FACTS: Final = (
    "control",
    "characteristic",
    "assigned",
    "standard_uncertainty",
    "source",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """How many entries of a catalogue were new, and how many known already."""

    stored: int
    known: int


def load(cursor: Cursor) -> Catalogue:
    """The catalogue as it stands: methods, specifications and corrections as approved last.

    What is in force says who approved it, from when on and why, as the approval does.
    """
    received, approved = every(cursor), approvals.standing(cursor)
    ended = approved.keys() | turned_down.keys(cursor)
    return replace(
        received,
        corrections=corrections.approved(received.corrections, approved),
        specifications=tuple(
            _in_force(one, approved[key])
            for one in received.specifications
            if (key := approvals.key_of(one)) in approved
        ),
        proposed=tuple(
            one for one in received.specifications if approvals.key_of(one) not in ended
        ),
    )


def every(cursor: Cursor) -> Catalogue:
    """The catalogue as it was received, with what waits for its approval, and as files state it."""
    materials = tuple(_material(row) for row in records(cursor, MATERIALS))
    return Catalogue(
        materials=materials,
        suppliers=tuple(
            Supplier(supplier=name, country=country)
            for name, country in cursor.execute(
                "select supplier, country from supplier order by supplier"
            ).fetchall()
        ),
        characteristics=tuple(Characteristic(**row) for row in records(cursor, CHARACTERISTICS)),
        methods=method_versions.in_force(cursor),
        controls=tuple(Control(**row) for row in records(cursor, CONTROLS)),
        corrections=corrections.every(cursor),
        specifications=_specifications(cursor, materials),
    )


def save(cursor: Cursor, catalogue: Catalogue, *, receipt: str, by: str) -> Kept:
    """Add what is new; a changed method becomes a new version, a changed specification is refused.

    Specifications, corrections and changed figures of a method are kept as proposals, until they
    are approved.

    Parameters
    ----------
    by
        Id of the person who brings it.

    Raises
    ------
    BadCatalogue
        If a specification version exists with other content, or an entry that is not versioned
        was changed.
    """
    before = every(cursor)
    stored = sum(
        (
            _save_plain(cursor, catalogue, before),
            method_versions.save(cursor, catalogue.methods, receipt=receipt, by=by),
            corrections.save(cursor, catalogue.corrections, receipt=receipt, by=by),
            _save_specifications(cursor, catalogue.specifications, before, (receipt, by)),
        )
    )
    return Kept(stored=stored, known=catalogue.entries - stored)


def _save_plain(cursor: Cursor, catalogue: Catalogue, before: Catalogue) -> int:
    fresh = 0
    for kind, said, kept in (
        ("material", catalogue.materials, before.materials),
        ("supplier", catalogue.suppliers, before.suppliers),
        ("characteristic", catalogue.characteristics, before.characteristics),
        ("control", catalogue.controls, before.controls),
    ):
        known = {getattr(one, kind): one for one in kept}
        for one in said:
            name = getattr(one, kind)
            if name not in known:
                _insert_plain(cursor, one)
                fresh += 1
            elif known[name] != one:
                raise BadCatalogue(
                    f"the {kind} {name!r} is in the store with other facts.",
                    where="catalogue",
                    remedy=f"Give the changed {kind} a new name; results refer to the old one.",
                )
    return fresh


def _insert_plain(cursor: Cursor, one: Material | Supplier | Characteristic | Control) -> None:
    match one:
        case Material():
            row = {name: getattr(one, name) for name in _MATERIAL_FACTS}
            told = {name: json.dumps(getattr(one, name)) for name in _MATERIAL_LISTS}
            rows.insert(cursor, "material", [{**row, **told}])
        case Supplier():
            row = {"supplier": one.supplier, "country": one.country}
            rows.insert(cursor, "supplier", [row])
        case Characteristic():
            row = {name: getattr(one, name) for name in _CHARACTERISTIC_FACTS}
            rows.insert(cursor, "characteristic", [row])
        case Control():
            row = {name: getattr(one, name) for name in _CONTROL_FACTS}
            rows.insert(cursor, "control", [row])


def _save_specifications(
    cursor: Cursor,
    specifications: Sequence[Specification],
    before: Catalogue,
    brought: tuple[str, str],
) -> int:
    kept = {(one.material, one.version): one for one in before.specifications}
    fresh = 0
    for one in specifications:
        same = kept.get((one.material, one.version))
        if same == one:
            continue
        if same is not None:
            raise BadCatalogue(
                f"version {one.version} is in the store with other content.",
                where=f"specification of {one.material}",
                remedy="Give the changed specification the next version number and a date.",
            )
        _insert_specification(cursor, one, *brought)
        fresh += 1
    return fresh


def _insert_specification(cursor: Cursor, one: Specification, receipt: str, by: str) -> None:
    named = {"material": one.material, "version": one.version}
    head = {name: getattr(one, name) for name in ("effective_from", "approved_by", "reason")}
    brought = {"receipt": receipt, "proposed_by": by}
    rows.insert(cursor, "specification", [{**named, **head, **brought}])
    lines = [
        {**named, "position": position, **{name: getattr(line, name) for name in _LINE_FACTS}}
        for position, line in enumerate(one.lines)
    ]
    rows.insert(cursor, "specification_line", lines)


def _material(row: dict[str, Any]) -> Material:
    moisture = json.loads(row.pop("plausible_moisture"))
    hold_on = json.loads(row.pop("hold_on"))
    return Material(
        **row,
        hold_on=tuple(hold_on),
        plausible_moisture=None if moisture is None else tuple(moisture),
    )


def _in_force(one: Specification, approved: Standing) -> Specification:
    since = approved.effective_from.isoformat()
    return replace(one, **{**approved._asdict(), "effective_from": since})


def _specifications(cursor: Cursor, materials: Sequence[Material]) -> tuple[Specification, ...]:
    described = {one.material: one for one in materials}
    lines: dict[tuple[str, int], list[Line]] = {}
    for row in records(cursor, SPECIFICATION_LINES):
        key = (row.pop("material"), row.pop("version"))
        del row["position"]
        lines.setdefault(key, []).append(Line(**row))
    return tuple(
        described[row["material"]].specification(
            lines.get((row["material"], row["version"]), ()),
            {
                "material": row["material"],
                "version": row["version"],
                "effective_from": row["effective_from"].isoformat(),
                "approved_by": row["approved_by"],
                "reason": row["reason"],
            },
        )
        for row in records(cursor, "select * from specification order by material, version")
    )
