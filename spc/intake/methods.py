"""How things are measured, and the samples of known value that methods are held to."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from spc.acceptance import Method
from spc.intake.requirements import bad


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringMethod:
    """How one characteristic is measured; the limits of range are in `reading_unit`."""

    method: str
    characteristic: str
    standing: Literal["reference", "routine", "declared"]
    uncertainty_kind: Literal["relative", "absolute"] = "relative"
    standard_uncertainty: float
    repeatability: float
    reading_unit: str
    screening: bool = False
    bias: float = 0.0
    quantification_limit: float | None = None
    range_upper: float | None = None
    dilution_lowest: float | None = None
    dilution_highest: float | None = None
    factors: Mapping[str, float] = field(default_factory=dict)

    def as_method(self) -> Method:
        """What a lot is judged with."""
        return Method(
            method=self.method,
            standing=self.standing,
            screening=self.screening,
            relative=self.uncertainty_kind == "relative",
            standard_uncertainty=self.standard_uncertainty,
            repeatability=self.repeatability,
            bias=self.bias,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodVersion:
    """What one version states of how a method measures a characteristic.

    Attributes
    ----------
    version
        Counts from 1; the first is in force as it comes in, later ones once they are adopted.
    effective_from
        The day it was received; results received after its adoption carry it.
    approved_by, reason
        Empty: a file says neither of a method.
    """

    stated: MeasuringMethod
    version: int
    effective_from: date
    approved_by: str = ""
    reason: str = ""

    @property
    def method(self) -> str:
        """The name of the method."""
        return self.stated.method

    @property
    def characteristic(self) -> str:
        """What it measures."""
        return self.stated.characteristic

    @property
    def material(self) -> str:
        """Empty: a method measures every material."""
        return ""

    @property
    def name(self) -> str:
        """The version and whose it is, in one line."""
        return f"version {self.version} of the figures of {self.method}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A sample of known value that is measured beside the lots.

    Attributes
    ----------
    control
        Its name, which stands where a lot's number stands in the files.
    assigned, standard_uncertainty
        Its value, in the unit of the characteristic.
    source
        Who assigned the value, and how.
    """

    control: str
    characteristic: str
    assigned: float
    standard_uncertainty: float = 0.0
    source: str = ""


def check_methods(methods: Iterable[MeasuringMethod], characteristics: set[str]) -> None:
    """Refuse a method whose figures make no sense.

    Raises
    ------
    BadCatalogue
        If its characteristic is not known or an uncertainty is negative.
    """
    for method in methods:
        where = f"method {method.method}"
        if method.characteristic not in characteristics:
            raise bad(f"no characteristic {method.characteristic!r}.", where=where)
        if not method.standard_uncertainty >= 0.0 or not method.repeatability >= 0.0:
            raise bad("an uncertainty must be zero or more.", where=where)


def check_controls(controls: Iterable[Control], characteristics: set[str]) -> None:
    """Refuse a control sample whose value makes no sense.

    Raises
    ------
    BadCatalogue
        If its characteristic is not known, its value is not above zero, or the uncertainty of it
        is negative.
    """
    for control in controls:
        where = f"control {control.control}"
        if control.characteristic not in characteristics:
            raise bad(f"no characteristic {control.characteristic!r}.", where=where)
        if not control.assigned > 0.0 or not control.standard_uncertainty >= 0.0:
            raise bad(
                "its assigned value must be above zero and the uncertainty zero or more.",
                where=where,
            )
