"""Which specification holds, and which of its lines, for what is looked at."""

from collections.abc import Sequence
from typing import Final

from spc.acceptance import Line, Specification
from spc.errors import UnknownName
from spc.intake import Catalogue

# What is asked about unless something else is named.
HEAT: Final = "heat"


def newest_specification(specifications: Sequence[Specification], material: str) -> Specification:
    """The specification of a material that was approved last.

    Parameters
    ----------
    specifications
        Every version of every material, as a catalogue holds them.
    material
        Its name.

    Returns
    -------
    Specification

    Raises
    ------
    UnknownName
        If the material has none.
    """
    versions = versions_of(specifications, material)
    if not versions:
        raise UnknownName(
            "specification", material, known=sorted({one.material for one in specifications})
        )
    return max(versions, key=lambda one: one.version)


def versions_of(specifications: Sequence[Specification], material: str) -> list[Specification]:
    """Every version of a material's specification.

    Parameters
    ----------
    specifications
        Of every material, as a catalogue holds them.
    material
        Its name.

    Returns
    -------
    list of Specification
        Empty if the material has none.
    """
    return [one for one in specifications if one.material == material]


def lines_of(specifications: Sequence[Specification], material: str) -> tuple[Line, ...]:
    """The lines that a material is held against now.

    Parameters
    ----------
    specifications
        Of every material, as a catalogue holds them.
    material
        Its name.

    Returns
    -------
    tuple of Line
        Of the version approved last; empty if the material has no specification.
    """
    versions = versions_of(specifications, material)
    return newest_specification(versions, material).lines if versions else ()


def line_among(lines: Sequence[Line], *, characteristic: str, basis: str) -> Line | None:
    """The first line on a characteristic that holds on a basis.

    Parameters
    ----------
    lines
        Of one specification.
    characteristic
        What was measured.
    basis
        On which it was measured.

    Returns
    -------
    Line or None
        None if no line is on this basis.
    """
    return next(
        (
            line
            for line in lines
            if line.characteristic == characteristic and line.basis in ("", basis)
        ),
        None,
    )


def specified_line(
    catalogue: Catalogue, *, material: str, characteristic: str, basis: str
) -> Line | None:
    """The newest specification's line on a characteristic, if it is on the basis looked at.

    Parameters
    ----------
    catalogue
        The store's.
    material, characteristic
        What was measured of what.
    basis
        On which it was measured.

    Returns
    -------
    Line or None
        None if the specification says nothing on this basis.
    """
    lines = lines_of(catalogue.specifications, material)
    return line_among(lines, characteristic=characteristic, basis=basis)
