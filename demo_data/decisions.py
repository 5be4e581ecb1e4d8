"""What quality assurance decided of each lot, from what the laboratories had found."""

import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

import numpy as np

from demo_data.measurements import (
    BUFFER_ML,
    CAPSAICIN_G_PER_MOL,
    SHU_PER_MG_KG,
    Drying,
    LaboratoryRow,
    Reading,
)
from demo_data.scenario import Lot, generator, working_day

CATALOGUE: Final = Path(__file__).parent / "catalogue.toml"
MANAGER: Final = ("Mara Quill", "QA manager")
OFFICERS: Final = (("Jonas Terrow", "QA officer"), ("Ines Valbo", "QA officer"))
NEAR: Final = 0.03  # relative distance from a heat limit still taken under concession
NEAR_MOISTURE: Final = 0.2  # g/100 g, likewise
HOLDS: Final = 3  # latest lots of the supplier with the wild spread
WILD_SPREAD: Final = 0.1
LAST_DECISION: Final = date(2026, 11, 19)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One row of the old spreadsheet."""

    lot: Lot
    decision: str
    decided: date
    by: str
    role: str
    reason: str
    second_person: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What was known of a lot: heat in SHU on the specification's basis, moisture in g/100 g."""

    lot: Lot
    heat: float
    moisture: float
    detected: bool
    complete: date


def decisions(
    lots: Sequence[Lot],
    readings: Sequence[Reading],
    drying: Sequence[Drying],
    laboratory: Sequence[LaboratoryRow],
) -> list[Decision]:
    """One decision for each lot that is not waiting, in order of receipt."""
    specifications = tomllib.loads(CATALOGUE.read_text(encoding="utf-8"))["specification"]
    reading_of, drying_of = defaultdict(list), defaultdict(list)
    for reading in readings:
        reading_of[reading.lot.lot].append(reading)
    for sample in drying:
        drying_of[sample.lot.lot].append(sample)
    laboratory_of = {row.lot.lot: row for row in laboratory}
    decided = [lot for lot in lots if not lot.waiting]
    held = [lot.lot for lot in decided if lot.stream.bag_spread > WILD_SPREAD][-HOLDS:]
    found = []
    for lot in decided:
        lines = _lines(specifications, lot)
        findings = _findings(
            lot, lines, reading_of[lot.lot], drying_of[lot.lot], laboratory_of.get(lot.lot)
        )
        found.append(_decision(findings, lines, on_hold=lot.lot in held))
    return found


def _lines(specifications: Sequence[Mapping[str, Any]], lot: Lot) -> dict[str, Mapping[str, Any]]:
    """Lines of the specification in force when the lot came, by characteristic."""
    material = lot.stream.material.material
    versions = [
        s
        for s in specifications
        if s["material"] == material and s["effective_from"] <= lot.received
    ]
    latest = max(versions, key=lambda s: int(s["version"]))
    return {line["characteristic"]: line for line in latest["line"]}


def _findings(
    lot: Lot,
    lines: Mapping[str, Mapping[str, Any]],
    readings: Sequence[Reading],
    drying: Sequence[Drying],
    laboratory: LaboratoryRow | None,
) -> Findings:
    heats = [
        r.molarity * r.dilution * CAPSAICIN_G_PER_MOL / 1000.0 * BUFFER_ML / r.portion_g
        for r in readings
    ]
    heat = SHU_PER_MG_KG * float(np.exp(np.log(heats).mean()))
    moisture = float(np.mean([d.moisture for d in drying])) if drying else 0.0
    if lines["heat"]["basis"] == "dry":
        heat /= 1.0 - moisture / 100.0
    complete = max(r.measured_at.date() for r in readings)
    if laboratory:
        complete = max(complete, laboratory.analysed)
    return Findings(
        lot=lot,
        heat=float(f"{heat:.4g}"),
        moisture=moisture,
        detected=laboratory is not None and laboratory.salmonella == "detected",
        complete=complete,
    )


def _decision(
    findings: Findings, lines: Mapping[str, Mapping[str, Any]], *, on_hold: bool
) -> Decision:
    rng = generator(11, findings.lot.serial)
    decision, reason = _judged(findings, lines)
    if on_hold and decision == "accepted":
        decision, reason = "on hold", "bags differ widely, more bags to be sampled"
    elif decision == "accepted":
        reason = str(rng.choice(["within specification", "all results within limits", "ok"]))
    officer = OFFICERS[int(rng.integers(0, len(OFFICERS)))]
    by, role = officer if decision in {"accepted", "on hold"} else MANAGER
    return Decision(
        lot=findings.lot,
        decision=decision,
        decided=min(working_day(findings.complete, int(rng.integers(1, 4))), LAST_DECISION),
        by=by,
        role=role,
        reason=reason,
        second_person=officer[0] if decision == "accepted under concession" else "",
    )


def _judged(findings: Findings, lines: Mapping[str, Mapping[str, Any]]) -> tuple[str, str]:
    """Decision and reason, by the worst line."""
    if findings.detected:
        return "rejected", "Salmonella detected in 25 g"
    lower, upper = lines["heat"]["lower"], lines["heat"]["upper"]
    said = f"heat {findings.heat:.0f} SHU"
    excess = max(np.log(findings.heat / upper), np.log(lower / findings.heat))
    limit = f"above {upper:.0f}" if findings.heat > upper else f"below {lower:.0f}"
    if excess > NEAR:
        return "rejected", f"{said}, {limit}"
    if excess > 0.0:
        return "accepted under concession", f"{said}, {limit}: only for blending"
    return _judged_moisture(findings.moisture, lines.get("moisture", {}))


def _judged_moisture(moisture: float, line: Mapping[str, Any]) -> tuple[str, str]:
    upper = line.get("upper", np.inf)
    if moisture <= upper:
        return "accepted", ""
    said = f"moisture {moisture:.1f} %, above {upper:.1f}"
    if moisture > upper + NEAR_MOISTURE:
        return "rejected", said
    return "accepted under concession", f"{said}: to be used within eight weeks"
