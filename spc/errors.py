"""What can go wrong, said so that the reader can put it right.

* LotHeatError
  x InvalidInput          a value passed to a computation
    + TooFewLots          too few lots for the statistic asked for
    + NoSpread            every value is the same, so there is no sigma
    + NotPositive         a zero or negative value on a log scale
    + UnknownUnit         a unit that cannot be converted to the one asked for
    + MissingFactor       a conversion that lacks a volume, a mass or a factor
    + LotBarred           a lot that the law or a decision keeps out of every blend
  x IntakeError           a file that cannot be taken in
    + UnreadableFile      bytes that are no table of any known kind
    + UnknownLayout       a table that no source profile recognises
    + BadProfile          a source profile that is not well formed
    + BadCatalogue        a catalogue that is not well formed
  x StoreError            the database
    + StoreInUse          another process holds the file
    + StoreBusy           a write could not be completed
    + NewerSchema         the file was written by a newer version
    + OlderSchema         the file is to be read only, and was written by an older version
    + NotAStore           the file is not a lotheat store
      - ChangedSchema     the file holds a view, a macro, a table ... that no lotheat made
    + UnknownName         a lot, material, stream ... that the store does not hold
    + MixedUnits          a stream whose current results have more than one unit
  x DispositionRefused    a decision that the rules of release do not allow
  x NotKnown              nobody knows who acts: no proof was given, or it no longer holds
  x NotAllowed            a deed that none of the person's roles may do
  x SignInRefused         a name, a secret, an invitation or a provider's answer that opens nothing
  x SignatureRefused      a signature that the rules of signing do not allow
  x RegisterRefused       a person, a token or a house rule that cannot be entered like this
  x NoRecipe              limits and rules that no blend of the stock can keep together
  x SearchStopped         an optimisation that ended before it found or excluded a recipe
  x ServerRefused         a server that may not be reached as it was asked to be
  x ProviderRefused       an answer of the company's sign-in that does not hold
    + ProviderSilent      no answer of it at all
"""

import difflib
from collections.abc import Sequence


class LotHeatError(Exception):
    """Base of every error this package raises on purpose.

    Parameters
    ----------
    what
        What is wrong, with the offending value and its unit.
    where
        The place in the user's own terms: file and row, lot, argument.
    remedy
        The next step, as an imperative sentence.
    """

    def __init__(self, what: str, *, where: str = "", remedy: str) -> None:
        self.what, self.where, self.remedy = what, where, remedy
        super().__init__(" ".join(filter(None, (f"{where}:" if where else "", what, remedy))))


class InvalidInput(LotHeatError, ValueError):
    """A value that a computation cannot use."""


class TooFewLots(InvalidInput):
    """Fewer lots than the statistic needs."""

    def __init__(self, *, needed: int, given: int, where: str) -> None:
        self.needed, self.given = needed, given
        super().__init__(
            f"needs at least {needed} lots, but {given} {'was' if given == 1 else 'were'} given.",
            where=where,
            remedy="Wait for more lots, or widen the baseline.",
        )


class NoSpread(InvalidInput):
    """All values are equal, so no limit can be drawn from their spread."""

    def __init__(self, *, value: float, lots: int, where: str) -> None:
        self.value, self.lots = value, lots
        super().__init__(
            f"all {lots} values are {value:g}, so they show no spread to set limits from.",
            where=where,
            remedy="Check whether the values were copied or rounded before they arrived.",
        )


class NotPositive(InvalidInput):
    """A value of zero or less where the scale is logarithmic."""

    def __init__(self, *, value: float, position: int, where: str) -> None:
        self.value, self.position = value, position
        super().__init__(
            f"value {value:g} at position {position} has no logarithm.",
            where=where,
            remedy="Use the linear scale, or mark the value as below the quantification limit.",
        )


class UnknownUnit(InvalidInput):
    """A unit that has no stated conversion to the one asked for."""

    def __init__(self, unit: str, *, known: Sequence[str], where: str) -> None:
        self.unit = unit
        super().__init__(
            f"unit {unit!r} cannot be used here.",
            where=where,
            remedy=_nearest(unit, known, otherwise=f"Use one of: {', '.join(known)}."),
        )


class MissingFactor(InvalidInput):
    """A conversion that lacks one of its factors."""

    def __init__(self, factor: str, *, where: str) -> None:
        self.factor = factor
        super().__init__(
            f"{factor} is not given, and is never assumed.",
            where=where,
            remedy=f"State {factor}.",
        )


class LotBarred(InvalidInput):
    """A lot that fails a safety line, was rejected or is on hold was asked for in a blend."""

    def __init__(self, lot: str, reason: str) -> None:
        self.lot, self.reason = lot, reason
        super().__init__(
            f"lot {lot} is barred from every blend: {reason.rstrip('.')}. Mixing does not make it"
            " compliant: food that breaks a limit may be neither mixed with food that keeps it nor"
            " used as an ingredient, whatever the mixture tests at.",
            where="blend",
            remedy="Ask for another lot, and follow the local rules for lots that may not be used.",
        )


class IntakeError(LotHeatError):
    """A file that cannot be taken in at all; nothing of it was stored."""


class UnreadableFile(IntakeError):
    """Bytes that are not a table of any kind that can be read."""


class UnknownLayout(IntakeError):
    """A table whose columns no source profile recognises."""


class BadProfile(IntakeError):
    """A source profile that is not well formed."""


class BadCatalogue(IntakeError):
    """A catalogue of materials, suppliers, methods or specifications that is not well formed."""


class StoreError(LotHeatError):
    """The database cannot do what was asked."""


class StoreInUse(StoreError):
    """Another process holds the store's file."""


class StoreBusy(StoreError):
    """A write could not be completed after several tries; nothing was written."""


class NewerSchema(StoreError):
    """The file was written by a newer version of lotheat; it was left untouched."""


class OlderSchema(StoreError):
    """The file was written by an older version of lotheat, and is to be read only."""


class NotAStore(StoreError):
    """The file is not a lotheat store; it was left untouched."""


class ChangedSchema(NotAStore):
    """The file holds something besides rows that no lotheat made; nothing in it was run.

    Parameters
    ----------
    faults
        What it holds otherwise, a sentence each.
    """

    def __init__(self, faults: Sequence[str], *, where: str) -> None:
        self.faults = tuple(faults)
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(
            f"{faults[0].rstrip('.')}{more}: somebody changed the file; nothing in it was run.",
            where=where,
            remedy="Restore the last backup that holds, and find out who changed this file.",
        )


class UnknownName(StoreError, LookupError):
    """A lot, material, stream or receipt that the store does not hold."""

    def __init__(self, kind: str, name: str, *, known: Sequence[str]) -> None:
        self.kind, self.name = kind, name
        super().__init__(
            f"There is no {kind} {name!r} in the store.",
            remedy=_nearest(name, known, otherwise="Receive the file that brings it first."),
        )


class MixedUnits(StoreError):
    """The current results of one stream have more than one unit."""

    def __init__(self, units: Sequence[str], *, where: str) -> None:
        self.units = tuple(units)
        super().__init__(
            f"results are stored in {len(units)} units: {', '.join(units)}.",
            where=where,
            remedy="Correct the unit in the source profile and supersede the rows that are wrong.",
        )


class DispositionRefused(LotHeatError):
    """A decision that the rules of release do not allow; nothing was written.

    `reason_typed` is what the person had typed as a reason, so that it need not be typed again.
    """

    def __init__(self, what: str, *, where: str = "", remedy: str, reason_typed: str = "") -> None:
        self.reason_typed = reason_typed
        super().__init__(what, where=where, remedy=remedy)


class NotKnown(LotHeatError):
    """Nobody knows who acts: no proof was given, or it no longer holds; nothing was written."""


class NotAllowed(LotHeatError):
    """A deed that none of the person's roles may do; `roles` are those that may."""

    def __init__(self, deed: str, *, who: str, roles: Sequence[str], beside: str = "") -> None:
        self.deed, self.roles = deed, tuple(roles)
        may = " or ".join(roles)
        super().__init__(
            f"{who} may not {deed}{beside}.",
            remedy=f"Ask someone with the role {may}." if may else "Nobody may do this here.",
        )


class SignInRefused(LotHeatError):
    """A name, a secret, an invitation or a provider's answer that opens nothing."""


class SignatureRefused(LotHeatError):
    """A signature that the rules of signing do not allow; nothing was signed.

    `reason_typed` is what the person had typed as a reason, so that it need not be typed again.
    """

    def __init__(self, what: str, *, where: str, remedy: str, reason_typed: str = "") -> None:
        self.reason_typed = reason_typed
        super().__init__(what, where=where, remedy=remedy)


class RegisterRefused(LotHeatError):
    """A person, a token or a house rule that cannot be entered like this."""


class NoRecipe(LotHeatError):
    """Limits and rules that no blend of the stock can keep together.

    `conflict` names the ones that cannot be kept together, none of which could be left out of the
    list; `cures` says what would make a recipe possible, a sentence each; `smallest` whether it is
    proven that no fewer conflict.
    """

    def __init__(self, conflict: Sequence[str], cures: Sequence[str], *, smallest: bool) -> None:
        self.conflict, self.cures, self.smallest = tuple(conflict), tuple(cures), smallest
        together = "cannot be kept" if len(self.conflict) == 1 else "cannot be kept together"
        super().__init__(
            f"no recipe: {'; '.join(self.conflict)} {together}.",
            where="blend",
            remedy=" ".join(self.cures) or "Relax one of them.",
        )


class SearchStopped(LotHeatError):
    """An optimisation that ended before it found a recipe or proved that there is none."""


class ServerRefused(LotHeatError):
    """A server that may not be reached as it was asked to be; it was not started."""


class ProviderRefused(LotHeatError):
    """An answer of the company's sign-in that does not hold; nobody was signed in by it."""


class ProviderSilent(ProviderRefused):
    """The company's sign-in did not answer."""


def _nearest(name: str, known: Sequence[str], *, otherwise: str) -> str:
    near = difflib.get_close_matches(name, known, n=3)
    return f"Did you mean {', '.join(near)}?" if near else otherwise
