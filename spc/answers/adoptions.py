"""What a person adopts of a method: from the figures found to the text of a catalogue."""

import math
from collections.abc import Iterable
from dataclasses import asdict, replace
from datetime import date
from typing import Any, Final

import tomli_w

from spc.compare.between_methods.corrections import Correction
from spc.compare.studies.method_figures import MethodFigures
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MeasuringMethod

# No reading lies above it, and its square is still a number.
_BEYOND_ALL: Final = 1e100
# A correction that changes nothing: what withdraws one.
NO_CORRECTION: Final = Correction(
    kind="ratio",
    offset=0.0,
    slope=1.0,
    offset_variance=0.0,
    slope_variance=0.0,
    covariance=0.0,
    degrees_of_freedom=0,
    residual_sd=0.0,
    lowest=0.0,
    highest=_BEYOND_ALL,
    lots=0,
)
_REASON: Final = "# Reason: "


def corrections_of(
    every: Iterable[AdoptedCorrection], *, method: str, characteristic: str
) -> list[AdoptedCorrection]:
    """The corrections of one method on one characteristic.

    Parameters
    ----------
    every
        All corrections of the store.
    method, characteristic
        Whose they are.

    Returns
    -------
    list of AdoptedCorrection
        Newest first for each kind of lot.
    """
    found = [one for one in every if (one.method, one.characteristic) == (method, characteristic)]
    return sorted(found, key=lambda one: (one.material, one.supplier, -one.version))


def corrections_in_force(
    every: Iterable[AdoptedCorrection], *, today: date
) -> list[AdoptedCorrection]:
    """What is in force today for each kind of lot.

    Parameters
    ----------
    every
        Of one method on one characteristic.
    today
        The day of the store.

    Returns
    -------
    list of AdoptedCorrection
        What changes nothing is left out.
    """
    latest: dict[tuple[str, str], AdoptedCorrection] = {}
    for one in sorted(every, key=lambda one: (one.effective_from, one.version)):
        if one.effective_from <= today:
            latest[one.material, one.supplier] = one
    return [one for one in latest.values() if not is_withdrawal(one)]


def is_withdrawal(one: AdoptedCorrection) -> bool:
    """Whether a version takes an earlier one back.

    Parameters
    ----------
    one
        As it was adopted.

    Returns
    -------
    bool
    """
    return all(getattr(one, name) == figure for name, figure in asdict(NO_CORRECTION).items())


def next_correction(  # noqa: PLR0913 - a correction has these parts
    correction: Correction,
    every: Iterable[AdoptedCorrection],
    *,
    stated: MeasuringMethod,
    against: str,
    lots: tuple[str, str],
    reason: str,
    effective_from: date,
) -> AdoptedCorrection:
    """The next version of a correction, as it would be adopted.

    Parameters
    ----------
    correction
        Its figures; `NO_CORRECTION` takes the version before it back.
    every
        All corrections of the store, with those that wait for their approval.
    stated, against
        The method, and the one that it was held against.
    lots
        Material and supplier that it is for; empty for every one.
    reason
        Why it is proposed.
    effective_from
        Day from which on lots are to be corrected by it.

    Returns
    -------
    AdoptedCorrection
    """
    material, supplier = lots
    versions = [
        one.version
        for one in corrections_of(every, method=stated.method, characteristic=stated.characteristic)
        if (one.material, one.supplier) == lots
    ]
    return AdoptedCorrection(
        method=stated.method,
        characteristic=stated.characteristic,
        material=material,
        supplier=supplier,
        version=1 + max(versions, default=0),
        effective_from=effective_from,
        against=against,
        reason=reason.strip(),
        **asdict(correction),
    )


def correction_text(one: AdoptedCorrection) -> str:
    """The text of a catalogue that holds one correction.

    Parameters
    ----------
    one
        As it is to be adopted.

    Returns
    -------
    str
        TOML, to be received like any catalogue.
    """
    return tomli_w.dumps({"correction": [asdict(one)]})


def method_text(stated: MeasuringMethod, *, version: int, signed: tuple[str, str]) -> str:
    """The text of a catalogue that holds one method, with who changed it and why.

    Parameters
    ----------
    stated
        The method as changed.
    version
        That it becomes; in the text, so that no two changes are the same bytes.
    signed
        Who changes it, and the reason.

    Returns
    -------
    str
        TOML, to be received like any catalogue.
    """
    approver, reason = (" ".join(part.split()) for part in signed)
    entry: dict[str, Any] = {
        name: value for name, value in asdict(stated).items() if value is not None
    }
    head = f"# Version {version} of {stated.method} for {stated.characteristic}, by {approver}."
    return f"{head}\n{_REASON}{reason}\n\n{tomli_w.dumps({'method': [entry]})}"


def reason_of(text: str) -> str:
    """The reason that `method_text` wrote into a file.

    Parameters
    ----------
    text
        Of a catalogue.

    Returns
    -------
    str
        Empty in any other file.
    """
    lines = text.splitlines()
    return next((line[len(_REASON) :] for line in lines if line.startswith(_REASON)), "")


def as_stated_figure(sd: float, stated: MeasuringMethod, *, log: bool, level: float) -> float:
    """A standard deviation found, as the method states its figures.

    Parameters
    ----------
    sd
        A share where `log`, else in unit.
    stated
        The method.
    log
        Whether it was found in logs.
    level
        Value near which it was found, in unit.

    Returns
    -------
    float
        A share or in unit, by the method's kind of uncertainty.
    """
    relative = stated.uncertainty_kind == "relative"
    if log == relative:
        return sd
    return sd / level if relative else sd * level


def with_precision(stated: MeasuringMethod, found: MethodFigures) -> MeasuringMethod:
    """A method with the figures of a precision study, to three significant digits.

    Parameters
    ----------
    stated
        As it stands.
    found
        In the way the method states its figures.

    Returns
    -------
    MeasuringMethod
    """
    return replace(
        stated,
        repeatability=float(f"{found.repeatability:.3g}"),
        standard_uncertainty=float(f"{found.standard_uncertainty:.3g}"),
    )


def uncertainty_without(whole: float, part: float) -> float:
    """What is left of a standard uncertainty when a part of it is looked at by itself.

    Parameters
    ----------
    whole, part
        Standard uncertainties in one unit.

    Returns
    -------
    float
        In the same unit; zero where the part is the larger.
    """
    return math.sqrt(max(0.0, whole**2 - part**2))
