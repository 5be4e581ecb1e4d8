"""Corrections of a method that a person adopted: for which lots, from when, and by how much."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from spc.compare.between_methods.corrections import Correction
from spc.intake.methods import MeasuringMethod
from spc.intake.requirements import bad


@dataclass(frozen=True, slots=True, kw_only=True)
class AdoptedCorrection(Correction):
    """One version of a correction, in force for the lots received from a day on.

    Stored readings stay as they were measured: a lot mean is corrected when it is judged.

    Attributes
    ----------
    material, supplier
        The lots it is for; empty for every one.
    version
        Counts from 1 for each method, characteristic, material and supplier.
    against
        The method it was found against.
    approved_by
        Who approved it; of a proposal, whom it names.
    """

    method: str
    characteristic: str
    material: str = ""
    supplier: str = ""
    version: int
    effective_from: date
    against: str
    approved_by: str = ""
    reason: str

    @property
    def name(self) -> str:
        """What it corrects, for which lots, and its version, in one line."""
        whose = " from ".join(filter(None, (self.material, self.supplier))) or "every lot"
        return f"correction {self.version} of {self.method} for {whose}"

    def is_for(self, *, material: str, supplier: str, day: date) -> bool:
        """Whether a lot received on that day falls under it."""
        return (
            self.material in ("", material)
            and self.supplier in ("", supplier)
            and self.effective_from <= day
        )


def in_force(
    corrections: Iterable[AdoptedCorrection], *, material: str, supplier: str, day: date
) -> dict[tuple[str, str], AdoptedCorrection]:
    """By method and characteristic, the correction that a lot falls under, if any.

    One made for the lot's own material and supplier goes before a general one; of several
    versions the latest in force on the day of receipt counts.
    """
    mine = [one for one in corrections if one.is_for(material=material, supplier=supplier, day=day)]
    mine.sort(
        key=lambda one: (bool(one.supplier), bool(one.material), one.effective_from, one.version)
    )
    return {(one.method, one.characteristic): one for one in mine}


def check_corrections(
    corrections: Iterable[AdoptedCorrection],
    *,
    methods: Iterable[MeasuringMethod],
    materials: set[str],
    suppliers: set[str],
) -> None:
    """Refuse a correction of what is not there, or one that cannot be made.

    Raises
    ------
    BadCatalogue
        If method, material or supplier are not known, it has no reason, or its figures make no
        sense.
    """
    measured = {(one.method, one.characteristic) for one in methods}
    for one in corrections:
        where = one.name
        if (one.method, one.characteristic) not in measured:
            raise bad(f"nothing measures {one.characteristic} by {one.method}.", where=where)
        for kind, name, known in (
            ("material", one.material, materials),
            ("supplier", one.supplier, suppliers),
        ):
            if name and name not in known:
                raise bad(f"no {kind} {name!r}.", where=where)
        if not one.reason.strip():
            raise bad("it needs a reason.", where=where)
        if one.slope <= 0.0 or min(one.offset_variance, one.slope_variance) < 0.0:
            raise bad("its slope must be above zero and its variances not below.", where=where)
        if not one.lowest < one.highest or one.version < 1:
            raise bad("its range must have two ends, and versions count from 1.", where=where)
