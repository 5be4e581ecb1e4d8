"""What a store knows of the methods that measure: scales, neighbours, controls, corrections."""

from collections.abc import Sequence
from dataclasses import dataclass

from spc.answers.adoptions import corrections_in_force, corrections_of
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MeasuringMethod, MethodVersion
from spc.store import Store
from spc.store.approving.proposals import Proposal
from spc.store.catalogue.turned_down import TurnedDown
from spc.store.lots.controls import ControlStream


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodScale:
    """How what a method measures is told.

    Attributes
    ----------
    unit
        Of its values; empty where the characteristic is not known.
    log
        Whether it is judged in logs, so that differences are shares.
    """

    unit: str
    log: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodCorrections:
    """The corrections of a method on one characteristic.

    Attributes
    ----------
    versions
        Every one that was adopted, newest first for each kind of lot.
    in_force
        What holds today.
    waiting
        What waits for its adoption.
    turned_down
        What was proposed and not taken.
    """

    versions: tuple[AdoptedCorrection, ...]
    in_force: tuple[AdoptedCorrection, ...]
    waiting: tuple[Proposal, ...]
    turned_down: tuple[TurnedDown, ...]


def own_methods(store: Store) -> list[MeasuringMethod]:
    """The methods that are not the supplier's word.

    Parameters
    ----------
    store
        Whose catalogue names them.

    Returns
    -------
    list of MeasuringMethod
    """
    return [one for one in store.catalogue().methods if one.standing != "declared"]


def declared_methods(store: Store) -> frozenset[str]:
    """Methods that are the supplier's word.

    Parameters
    ----------
    store
        Whose catalogue names them.

    Returns
    -------
    frozenset of str
    """
    return frozenset(one.method for one in store.catalogue().methods if one.standing == "declared")


def other_methods(store: Store, stated: MeasuringMethod) -> list[str]:
    """Our other methods of the same characteristic, the reference first.

    Parameters
    ----------
    store
        Whose catalogue names them.
    stated
        The method.

    Returns
    -------
    list of str
    """
    found = [
        one
        for one in own_methods(store)
        if one.characteristic == stated.characteristic and one.method != stated.method
    ]
    return [one.method for one in sorted(found, key=lambda one: one.standing != "reference")]


def scale_of_method(store: Store, stated: MeasuringMethod) -> MethodScale:
    """Unit of what a method measures, and whether it is judged in logs.

    Parameters
    ----------
    store
        Whose catalogue holds the characteristic.
    stated
        The method.

    Returns
    -------
    MethodScale
    """
    found = store.catalogue().characteristic(stated.characteristic)
    if found is None:
        return MethodScale(unit="", log=False)
    return MethodScale(unit=found.unit, log=found.scale == "log")


def watched_controls(every: Sequence[ControlStream], characteristic: str) -> list[ControlStream]:
    """Control samples of one characteristic that are read batch after batch.

    Parameters
    ----------
    every
        Of the method, from `store.compare.controls(method)`.
    characteristic
        What it measures.

    Returns
    -------
    list of ControlStream
        One an instrument.

    Notes
    -----
    What several laboratories read of one sample once is a comparison between them, not a watch
    kept over sensor batches.
    """
    return [
        one for one in every if one.control.characteristic == characteristic and any(one.batches)
    ]


def corrections_of_method(store: Store, stated: MeasuringMethod) -> MethodCorrections:
    """The corrections of a method: every version, and what is in force today.

    Parameters
    ----------
    store
        Is read only.
    stated
        The method.

    Returns
    -------
    MethodCorrections
    """
    versions = corrections_of(
        store.catalogue().corrections,
        method=stated.method,
        characteristic=stated.characteristic,
    )
    return MethodCorrections(
        versions=tuple(versions),
        in_force=tuple(corrections_in_force(versions, today=store.today())),
        waiting=tuple(
            one
            for one in store.approvals.proposals()
            if isinstance(one.entry, AdoptedCorrection)
            and (one.entry.method, one.entry.characteristic)
            == (stated.method, stated.characteristic)
        ),
        turned_down=tuple(
            one
            for one in store.approvals.turned_down(kind="correction")
            if one.name.startswith(f"{stated.method} | {stated.characteristic} | ")
        ),
    )


def waiting_figures(store: Store, stated: MeasuringMethod) -> list[Proposal]:
    """Changed figures of a method that wait for their adoption.

    Parameters
    ----------
    store
        Is read only.
    stated
        The method.

    Returns
    -------
    list of Proposal
        By version.
    """
    named = (stated.method, stated.characteristic)
    return [
        one
        for one in store.approvals.proposals()
        if isinstance(one.entry, MethodVersion)
        and (one.entry.method, one.entry.characteristic) == named
    ]


def numbered_corrections(store: Store) -> list[AdoptedCorrection]:
    """Every correction that has a version number: adopted, waiting for it, or turned down.

    Parameters
    ----------
    store
        Is read only.

    Returns
    -------
    list of AdoptedCorrection
    """
    return [one for one in store.approvals.received() if isinstance(one, AdoptedCorrection)]
