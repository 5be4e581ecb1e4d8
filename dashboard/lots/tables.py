"""Lots, their readings, and who did what."""

import pandas as pd

from dashboard.frame.words import clock_behind, interval
from dashboard.lots import words
from dashboard.lots.charts.plausible_values import conformity_frame
from spc.acceptance import LineVerdict
from spc.answers.sampling import AcceptanceCurve
from spc.digits import percent, written


def results_table(results: pd.DataFrame) -> pd.DataFrame:
    """The readings of a lot with what each was derived from."""
    values = [
        interval(low, high, unit)
        for low, high, unit in zip(
            results["value_low"], results["value_high"], results["unit"], strict=True
        )
    ]
    return pd.DataFrame(
        {
            "characteristic": results["characteristic"],
            "method": results["method"],
            "sample": results["sample"],
            "replicate": results["replicate"],
            "value": values,
            "basis": results["basis"],
            "reading": results["reading_text"] + " " + results["reading_unit"],
            "measured (UTC)": results["measured_at"].dt.strftime("%Y-%m-%d %H:%M").fillna(""),
            "operator": results["operator"],
            "instrument": results["instrument"],
            "sensor batch": results["sensor_batch"],
            "file": results["file"],
            "row": results["source_row"],
        }
    )


def audit_table(entries: pd.DataFrame) -> pd.DataFrame:
    """Entries of the audit chain, newest first."""
    return pd.DataFrame(
        {
            "entry": entries["sequence"],
            "when (UTC)": entries["entered_at"].dt.strftime("%Y-%m-%d %H:%M:%S"),
            "who": entries["actor"],
            "what": entries["action"] + entries["clock"].map(clock_behind),
        }
    )


def acceptance_frame(curve: AcceptanceCurve) -> pd.DataFrame:
    """A plan's curve as its chart draws it, with the two lots it was made for named."""
    made_for = zip(curve.made_for, curve.chance_made_for, strict=True)
    named = pd.DataFrame(
        [(x, chance, f"{written(x)}: accepted {percent(chance)}") for x, chance in made_for],
        columns=["x", "chance", "point"],
    )
    drawn = pd.DataFrame({"x": curve.at, "chance": curve.chance, "point": ""})
    return pd.concat([drawn, named]).sort_values("x", kind="stable", ignore_index=True)


def conforming_frame(judged: LineVerdict) -> pd.DataFrame | None:
    """Where a line's mean may truly lie, as its chart draws it; None where nothing can be drawn."""
    mean, line = judged.mean, judged.line
    if mean is None or mean.uncertainty <= 0.0 or mean.value <= 0.0:
        return None
    return conformity_frame(
        mean.value,
        mean.uncertainty,
        log=line.scale == "log",
        lower=line.lower,
        upper=line.upper,
        unit=line.unit,
        text=words.within(judged, mean),
    )
