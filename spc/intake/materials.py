"""Materials: what is bought, and what is asked of its results."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from spc.acceptance import MOISTURE_BY_FORM, Line, Specification
from spc.acceptance.evidence.flags import NAMES
from spc.intake.requirements import bad


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What is bought, and what is asked of its results.

    Attributes
    ----------
    hold_on
        Names of the flags that turn an acceptance into a hold.
    due_days, valid_days
        Days after receipt within which results are due, and for which a result stands; None where
        nobody asks.
    plausible_moisture
        Lowest and highest moisture it can have, g/100 g; by default what is usual for its form.
    """

    material: str
    form: Literal["powder", "flakes", "mash", "oleoresin"]
    within_lot_cv: float | None = None
    hold_on: tuple[str, ...] = ("possible slip",)
    due_days: int | None = None
    valid_days: int | None = None
    plausible_moisture: tuple[float, ...] | None = None

    def specification(self, lines: Iterable[Line], head: Mapping[str, Any]) -> Specification:
        """A specification of this material, with the policy that the material sets."""
        low, high = self.plausible_moisture or MOISTURE_BY_FORM[self.form]
        return Specification(
            **head,
            lines=tuple(lines),
            hold_on=self.hold_on,
            due_days=self.due_days,
            valid_days=self.valid_days,
            plausible_moisture=(low, high),
        )


def settled(material: Material) -> Material:
    """A material whose policy makes sense, with tuples where TOML has lists.

    Raises
    ------
    BadCatalogue
        If it names a flag that there is not, or days or a moisture that make no sense.
    """
    where = f"material {material.material}"
    unknown = set(material.hold_on) - set(NAMES)
    if unknown:
        raise bad(f"there is no flag {min(unknown)!r}; flags are {', '.join(NAMES)}.", where=where)
    for name in ("due_days", "valid_days"):
        days = getattr(material, name)
        if days is not None and days < 1:
            raise bad(f"{name} must be one day or more.", where=where)
    water = material.plausible_moisture
    if water is not None and (len(water) != 2 or not 0.0 <= water[0] < water[1] <= 100.0):
        raise bad(
            "plausible_moisture must be a lower and a higher moisture in g/100 g.", where=where
        )
    return replace(
        material,
        hold_on=tuple(material.hold_on),
        plausible_moisture=None if water is None else tuple(water),
    )
