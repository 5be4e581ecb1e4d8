"""What somebody reads who signs a decision, and the decision that it is."""

from collections.abc import Mapping
from typing import Any

from spc.acceptance import LineVerdict, LotVerdict
from spc.digits import written
from spc.store.lots.lots import Lot
from spc.store.lots.release import CORRECTING, Decision
from spc.store.people import Request


def shown(
    lot: Lot, decided: Decision, judged: LotVerdict, *, corrected: Mapping[str, Any] | None
) -> dict[str, Any]:
    """A decision in the trade's words, as it is displayed, signed and kept.

    Parameters
    ----------
    corrected
        What it supersedes: decision, decided_by, decided_at; None if it corrects nothing.
    """
    told: dict[str, Any] = {
        "lot": lot.lot,
        "material": lot.material,
        "supplier": lot.supplier,
        "decision": decided.decision,
        "evidence": judged.sentence,
        "lines": {_line(one): _outcome(one) for one in judged.lines},
        "stands beside": [flag.sentence for flag in judged.flags],
        "specification": f"version {judged.specification.version}",
    }
    if decided.scope or decided.expires_on:
        told |= {"scope": decided.scope.strip(), "until": decided.expires_on.strip()}
    if corrected is not None:
        told["instead of"] = _before(corrected)
    return told


def decided(request: Request) -> Decision:
    """The decision that a request asks to sign."""
    told = request.about
    return Decision(
        decision=told["decision"],
        reason=request.reason,
        scope=told.get("scope", ""),
        expires_on=told.get("until", ""),
        corrects=request.rests_on["decision"] if request.deed == CORRECTING else "",
    )


def _line(one: LineVerdict) -> str:
    basis = f" ({one.line.basis})" if one.line.basis else ""
    kind = "" if one.line.requirement == "average" else f", {one.line.requirement}"
    return f"{one.line.characteristic}{basis}{kind}"


def _outcome(one: LineVerdict) -> str:
    if one.mean is None:
        return one.outcome
    value = written(one.mean.value, uncertainty=one.mean.uncertainty_in_unit, unit=one.line.unit)
    return f"{one.outcome}, {value}"


def _before(corrected: Mapping[str, Any]) -> str:
    day = corrected["decided_at"].date().isoformat()
    return f"{corrected['decision']} by {corrected['decided_by']}, {day}"
