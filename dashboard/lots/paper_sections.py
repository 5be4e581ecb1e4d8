"""The sections of a lot record that tell of evidence: lines, streams, readings, calculations."""

import math
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any, Final

import pandas as pd

from dashboard.frame import paper_figures as frame_figures
from dashboard.frame import stream_tables, stream_words
from dashboard.frame import tables as frame_tables
from dashboard.frame import words as plain
from dashboard.frame.charts.verdict_mark import verdict_mark
from dashboard.frame.paper import Told, short
from dashboard.frame.theme import LIGHT
from dashboard.lots import paper_figures, words
from dashboard.lots.charts.conformity import conformity_frame
from spc.acceptance import Line, LineVerdict, LotMean, Specification
from spc.acceptance.evidence.lines import Outcome, limits_written
from spc.acceptance.rules import in_words
from spc.answers.charted_streams import ChartedStream
from spc.answers.lot_record import Calculation
from spc.digits import THIN, percent, written

_LABEL: Final = 14
_STANDING: Final[Mapping[str, str]] = {
    "declared": "the supplier's word, which decides nothing",
    "reference": "reference method",
}


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


def stream(charted: ChartedStream, specification: Specification, lot: str) -> Told:
    """One stream of this supplier's, in words and as a picture with the lot ringed."""
    sentence = stream_words.trend(
        charted.points, charted.signals, frozen=charted.frozen, chosen=lot
    )
    frame = stream_tables.stream_frame(
        charted.points, charted.signals, line=charted.line, chosen=lot
    )
    # A very long number would take the room of the picture; the text above has it in full.
    frame = frame.assign(lot=[short(one, _LABEL) for one in frame["lot"]])
    key = charted.key
    name = f"{key.characteristic} by {key.method}{f', {key.basis}' if key.basis else ''}"
    log = bool((charted.points["scale"] == "log").all())
    return {
        "name": name,
        "sentence": sentence,
        "note": _unbracketed(charted, specification),
        "chart": frame_figures.stream(frame, log=log),
        "alt": f"{name}. {sentence}",
    }


def readings(results: pd.DataFrame, specification: Specification) -> list[Told]:
    """Every current reading: a group for each characteristic, method, basis and file."""
    order = {one.characteristic: place for place, one in enumerate(specification.lines)}
    rows = sorted(
        results.to_dict("records"),
        key=lambda row: (
            order.get(row["characteristic"], len(order)),
            row["standing"] == "declared",
            _group(row),
            _natural(row["sample"]),
            _natural(row["replicate"]),
            row["source_row"],
        ),
    )
    return [
        {"head": _heading(found[0]), "rows": [_reading(row) for row in found]}
        for found in (list(rows) for _, rows in groupby(rows, key=_group))
    ]


def calculation(one: Calculation) -> Told:
    """One reading worked out, so that it can be checked by hand."""
    result = one.result
    sample = f", sample {result['sample']}" if result["sample"] else ""
    replicate = f", replicate {result['replicate']}" if result["replicate"] else ""
    steps = frame_tables.calculation_table(one.chain)
    given = plain.interval(result["value_low"], result["value_high"], result["unit"])
    return {
        "name": f"{result['characteristic']} by {result['method']}{sample}{replicate}",
        "given": given if len(steps) == 1 else "",
        "origin": plain.origin(result),
        "rows": steps[["step", "how", "result", "unit"]].astype("str").to_numpy().tolist(),
    }


def moment(at: pd.Timestamp | None) -> str:
    """A moment in a table: a day where only that is known, empty where nothing is."""
    if at is None or pd.isna(at):
        return ""
    return f"{at:%Y-%m-%d}" if at == at.normalize() else f"{at:%Y-%m-%d %H:%M}"


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
            f"{_openness(mean)}{value}{basis}, {plain.count(mean.readings, 'reading')} of"
            f" {plain.count(mean.samples, 'sample')} by {mean.method.method}"
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
    samples = plain.count(line.plan_n or 0, "sample")
    rule = {
        "average": in_words(line),
        "absent": "any detection fails",
        "proportion": f"variables plan: {samples}, acceptance constant k = {line.plan_k}",
        "count": f"attributes plan: {samples}, at most {line.plan_c} of them outside",
    }[line.requirement]
    return "" if rule in judged.reason else rule


def _unbracketed(charted: ChartedStream, specification: Specification) -> str:
    """Why a limited characteristic has no bracket."""
    bases = [
        one.basis
        for one in specification.lines
        if one.characteristic == charted.key.characteristic and one.basis
    ]
    if charted.line is not None or not bases:
        return ""
    return f"No bracket is drawn: the specification limits it on {bases[0]} basis."


def _conformity(judged: LineVerdict) -> Told:
    mean = judged.mean
    if mean is None or mean.uncertainty <= 0.0 or mean.value <= 0.0:
        return {"chart": "", "alt": ""}
    text = words.within(judged, mean)
    frame = conformity_frame(
        mean.value,
        mean.uncertainty,
        log=judged.line.scale == "log",
        lower=judged.line.lower,
        upper=judged.line.upper,
        unit=judged.line.unit,
        text=text,
    )
    alt = f"{judged.line.characteristic}: {frame['value_text'].iloc[0]}, {text}"
    return {"chart": paper_figures.conformity(frame, judged.line), "alt": alt}


def _group(row: Mapping[Any, Any]) -> tuple[str, ...]:
    return tuple(str(row[name]) for name in ("characteristic", "method", "basis", "file"))


def _natural(text: str) -> tuple[int, int, str]:
    """Sample 10 comes after sample 9."""
    return (0, int(text), "") if text.isdecimal() else (1, 0, text)


def _heading(row: Mapping[Any, Any]) -> Told:
    told = [
        row["basis"],
        _STANDING.get(row["standing"], ""),
        "screening method" if row["screening"] and row["standing"] != "declared" else "",
    ]
    return {
        "what": f"{row['characteristic']} by {row['method']}",
        "how": ", ".join(one for one in told if one),
        "file": row["file"],
    }


def _reading(row: Mapping[Any, Any]) -> list[str]:
    return [
        row["sample"],
        row["replicate"],
        plain.interval(row["value_low"], row["value_high"], row["unit"]),
        f"{row['reading_text']} {row['reading_unit']}",
        moment(row["measured_at"]),
        row["operator"],
        row["instrument"],
        row["sensor_batch"],
        str(row["source_row"]),
    ]
