"""Lines of the specification in a lot's record: what was found, against what, by which rule."""

import math
from collections.abc import Sequence

import pandas as pd

from dashboard.frame.charts.verdict_mark import verdict_mark
from dashboard.frame.paper import Told
from dashboard.frame.theme import LIGHT
from dashboard.frame.words import count
from dashboard.lots import words
from dashboard.lots.paper import figures
from dashboard.lots.tables import conforming_frame
from spc.acceptance import Line, LineVerdict, LotMean
from spc.acceptance.evidence.lines import Outcome, limits_written
from spc.acceptance.rules import in_words
from spc.digits import THIN, percent, written


def ink(svg: str) -> str:
    """A mark in the colour of the text."""
    return svg.replace("currentColor", LIGHT.ink)


def mark(outcome: Outcome) -> Told:
    """A verdict's mark with its name."""
    return {"svg": ink(verdict_mark(outcome)), "alt": outcome}


def line(judged: LineVerdict, results: pd.DataFrame) -> Told:
    """One line of the specification: what was found, against what, by which rule."""
    tags = [
        *(["safety"] if judged.line.safety else []),
        *(["reference method only"] if judged.line.reference_method_only else []),
    ]
    told = [
        ("limits", limits(judged.line)),
        ("source", judged.line.source),
        ("jurisdiction", judged.line.jurisdiction),
        *_rests_on(judged, results),
        ("rule", _rule(judged)),
    ]
    return {
        "mark": mark(judged.outcome),
        "name": judged.line.characteristic,
        "outcome": judged.outcome,
        "tags": tags,
        "reason": judged.reason,
        "remedy": judged.remedy,
        "facts": [[name, text] for name, text in told if text],
        **_conformity(judged),
    }


def limits(line: Line) -> str:
    """What a line allows, exactly as it was set."""
    if line.requirement == "absent":
        return f"absent {line.unit}"
    basis = f", {line.basis}" if line.basis else ""
    target = "" if line.target is None else f"; target {_exact(line.target)} {line.unit}"
    return f"{limits_written(line)}{basis}{target}"


def _exact(limit: float) -> str:
    return f"{limit:,.12g}".replace(",", THIN).replace("-", "−")


def _rests_on(judged: LineVerdict, results: pd.DataFrame) -> Sequence[tuple[str, str]]:
    mean = judged.mean
    if mean is None:
        return ()
    basis = f" {judged.line.basis}" if judged.line.basis else ""
    value = written(mean.value, uncertainty=mean.uncertainty_in_unit, unit=mean.unit)
    return (
        (
            "mean",
            f"{_openness(mean)}{value}{basis}, {count(mean.readings, 'reading')} of"
            f" {count(mean.samples, 'sample')} by {mean.method.method}"
            f"{_brought_to(judged.line, mean, results)}{_corrected(mean)}",
        ),
        (
            "standard uncertainty",
            f"{_spread(mean, mean.uncertainty)}: {_spread(mean, mean.sampling)} from sampling,"
            f" {_spread(mean, mean.method_part)} from the method",
        ),
    )


def _brought_to(line: Line, mean: LotMean, results: pd.DataFrame) -> str:
    mine = (results["characteristic"] == line.characteristic) & (
        results["method"] == mean.method.method
    )
    others = sorted({one for one in results.loc[mine, "basis"] if one != line.basis})
    if not line.basis or not others:
        return ""
    return f", {' and '.join(others)} brought to {line.basis} by the lot's own moisture"


def _corrected(mean: LotMean) -> str:
    said = words.corrected(mean)
    return f", {said}" if said else ""


def _openness(mean: LotMean) -> str:
    if not mean.is_open:
        return ""
    return "above " if math.isinf(mean.high) else "below "


def _spread(mean: LotMean, part: float) -> str:
    """A standard uncertainty on the line's scale: a share, or in the unit."""
    return percent(part) if mean.scale == "log" else written(part, uncertainty=part, unit=mean.unit)


def _rule(judged: LineVerdict) -> str:
    """How the line is decided; empty where the reason has said so."""
    line = judged.line
    samples = count(line.plan_n or 0, "sample")
    rule = {
        "average": in_words(line),
        "absent": "any detection fails",
        "proportion": f"variables plan: {samples}, acceptance constant k = {line.plan_k}",
        "count": f"attributes plan: {samples}, at most {line.plan_c} of them outside",
    }[line.requirement]
    return "" if rule in judged.reason else rule


def _conformity(judged: LineVerdict) -> Told:
    frame = conforming_frame(judged)
    if frame is None:
        return {"chart": "", "alt": ""}
    told = frame.iloc[0]
    alt = f"{judged.line.characteristic}: {told['value_text']}, {told['text']}"
    return {"chart": figures.conformity(frame, judged.line), "alt": alt}
