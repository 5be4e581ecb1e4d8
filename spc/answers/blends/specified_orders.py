"""Orders that start from a specification: a heat level, and all else as the material is limited."""

from collections.abc import Sequence

from spc.acceptance import Line, Specification
from spc.answers.blends.order import BlendOrder, Limit
from spc.answers.specified_lines import HEAT, newest_specification
from spc.errors import InvalidInput
from spc.store import Store


def blend_order(
    store: Store, material: str, *, batch_kg: float, heat: float, within: float
) -> BlendOrder:
    """An order for a heat level, all else as the material's newest specification limits it.

    Parameters
    ----------
    store
        Is read only.
    material
        That is to be made, and whose lots may go in.
    batch_kg
        Size.
    heat
        Target, in the unit of the specification.
    within
        Half the window as a share of the target: 0.12 for 12 %.

    Returns
    -------
    BlendOrder
        Which `dataclasses.replace` changes: the odds, the aim, the rules.

    Raises
    ------
    UnknownName
        If the material has no specification.
    InvalidInput
        If the specification does not limit heat.
    """
    newest = newest_specification(store.catalogue().specifications, material)
    return order_from_specification(newest, batch_kg=batch_kg, heat=heat, within=within)


def order_from_specification(
    specification: Specification, *, batch_kg: float, heat: float, within: float
) -> BlendOrder:
    """An order for a heat level, all else as the material's specification limits it.

    Parameters
    ----------
    specification
        Of the material that is to be made.
    batch_kg
        Size.
    heat, within
        Target, and half the window as a share of it.

    Returns
    -------
    BlendOrder

    Raises
    ------
    InvalidInput
        If the specification does not limit heat.
    """
    line = heat_line(specification)
    if line is None:
        raise InvalidInput(
            f"the specification of {specification.material} does not limit heat.",
            where="blend",
            remedy="Add a line for heat to the specification.",
        )
    return BlendOrder(
        material=specification.material,
        drawn_from=(specification.material,),
        batch_kg=batch_kg,
        heat=heat,
        lower=heat * (1.0 - within),
        upper=heat * (1.0 + within),
        unit=line.unit,
        basis="dry" if line.basis == "dry" else "as-is",
        limits=other_limits(specification),
    )


def heat_line(specification: Specification) -> Line | None:
    """The line that limits heat.

    Parameters
    ----------
    specification
        Of the material that is to be made.

    Returns
    -------
    Line or None
        None if heat is not limited.
    """
    return next((one for one in specification.lines if one.characteristic == HEAT), None)


def materials_with_heat(specifications: Sequence[Specification]) -> list[str]:
    """Materials whose newest specification limits heat, so that a blend of them can be ordered.

    Parameters
    ----------
    specifications
        Every version of every material, as a catalogue holds them.

    Returns
    -------
    list of str
        In the order of their names.
    """
    names = sorted({one.material for one in specifications})
    return [name for name in names if heat_line(newest_specification(specifications, name))]


def other_limits(specification: Specification) -> tuple[Limit, ...]:
    """Limits of means that a blend must keep beside heat; safety lines are never mixed to.

    Parameters
    ----------
    specification
        Of the material that is to be made.

    Returns
    -------
    tuple of Limit
    """
    return tuple(
        Limit(
            characteristic=one.characteristic,
            unit=one.unit,
            lower=one.lower,
            upper=one.upper,
            basis=one.basis,
        )
        for one in specification.lines
        if one.characteristic != HEAT
        and not one.safety
        and one.requirement == "average"
        and (one.lower is not None or one.upper is not None)
    )
