"""Results to tables and to plain values for programs; nothing is read or drawn here."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Final

import numpy as np
import pandas as pd

from dashboard import wording
from spc.acceptance import Line, LotVerdict
from spc.charts import RULES
from spc.digits import written
from spc.heat import Chain
from spc.store import Receipt, StreamKey, Survey
from spc.store.judgement import snapshot

_CENSORED: Final = {0: "", 1: "above", -1: "below", 2: "between"}


def receipts_told(
    taken: Sequence[Receipt], refused: Sequence[Mapping[str, str]], held: Mapping[str, pd.DataFrame]
) -> dict[str, Any]:
    """What `receive --json` prints: totals, then each receipt with its held rows."""
    totals = {
        name: sum(getattr(one, name) for one in taken)
        for name in ("rows", "stored", "held", "known", "results")
    }
    return {
        **totals,
        "created_lots": [lot for one in taken for lot in one.created_lots],
        "receipts": [
            {
                **asdict(one),
                "held_rows": held[one.receipt][
                    ["source_row", "lot", "code", "reason", "remedy"]
                ].to_dict("records"),
            }
            for one in taken
        ],
        "refused": list(refused),
    }


def receipts_table(taken: Sequence[Receipt]) -> pd.DataFrame:
    """One line a file: rows = stored + held + known."""
    return pd.DataFrame(
        [
            {
                "file": one.name,
                "rows": one.rows,
                "stored": one.stored,
                "held": one.held,
                "known": one.known,
                "results": one.results,
                "receipt": one.receipt,
            }
            for one in taken
        ]
    )


def review_told(
    lots: pd.DataFrame, verdicts: Mapping[str, LotVerdict], today: date
) -> list[dict[str, Any]]:
    """What `review --json` prints for each lot, in the order given."""
    return [
        {
            "lot": lot,
            "material": row["material"],
            "supplier": row["supplier"],
            "received_at": row["received_at"].date().isoformat(),
            "waiting_days": (today - row["received_at"].date()).days,
            "decision": row["decision"],
            **snapshot(verdicts[lot]),
        }
        for lot, row in zip(lots.index, lots.to_dict("records"), strict=True)
    ]


def review_table(told: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """One line a lot, with the sentence that says why."""
    columns = ("lot", "material", "supplier", "waiting_days", "recommendation", "sentence")
    frame = pd.DataFrame([{name: one[name] for name in columns} for one in told], columns=columns)
    return frame.rename(columns={"waiting_days": "days"})


def sweep_told(survey: Survey) -> dict[str, Any]:
    """What `sweep --json` prints: how much was charted, and every signal, newest first."""
    return {
        "streams": int(survey.points["stream"].nunique()),
        "points": len(survey.points),
        "signals": [
            {
                **{
                    name: row[name] for name in ("material", "supplier", "characteristic", "method")
                },
                "lot": row["lot"],
                "received_at": row["received_at"].date().isoformat(),
                "value": row["value"],
                "unit": row["unit"],
                "usual": [row["lower"], row["upper"]],
                "baseline_lots": int(row["size"]),
                "rule": row["rule"],
                "sentence": RULES[row["rule"]].sentence,
            }
            for row in survey.signals().to_dict("records")
        ],
    }


def signals_table(survey: Survey) -> pd.DataFrame:
    """One line a signal, newest first, in words."""
    rows = survey.signals().to_dict("records")
    return pd.DataFrame(
        [
            {
                "lot": row["lot"],
                "received": row["received_at"].date(),
                "material": row["material"],
                "supplier": row["supplier"],
                "what": f"{row['characteristic']} by {row['method']}",
                "value": written(row["value"], unit=row["unit"]),
                "signal": row["rule"],
            }
            for row in rows
        ],
        columns=["lot", "received", "material", "supplier", "what", "value", "signal"],
    )


def stream_frame(
    points: pd.DataFrame, signals: pd.DataFrame, *, line: Line | None, chosen: str = ""
) -> pd.DataFrame:
    """The points of one stream as the stream chart draws them.

    Parameters
    ----------
    points, signals
        Of one stream, from a survey.
    line
        The specification's line on this characteristic and basis; None draws no bracket.
    chosen
        The lot being looked at.
    """
    log = bool((points["scale"] == "log").all())
    whisker = points["spread"].fillna(0.0)
    value = points["value"]
    told = signals.groupby("lot")["rule"].agg(tuple).to_dict()
    rules = [told.get(lot, ()) for lot in points["lot"]]
    return pd.DataFrame(
        {
            "lot": points["lot"],
            "at": points["received_at"],
            "order": np.arange(1, len(points) + 1),
            "value": value,
            "whisker_low": value * np.exp(-whisker) if log else value - whisker,
            "whisker_high": value * np.exp(whisker) if log else value + whisker,
            "center": np.exp(points["center"]) if log else points["center"],
            "lower": points["lower"],
            "upper": points["upper"],
            "spec_lower": np.nan if line is None or line.lower is None else line.lower,
            "spec_upper": np.nan if line is None or line.upper is None else line.upper,
            "censored": points["censored"].map(_CENSORED),
            "in_baseline": points["baseline"],
            "signal": _only_news(rules),
            "chosen": points["lot"] == chosen,
            "crop": [wording.crop(year) for year in points["crop_year"]],
            "href": "/lot?lot=" + points["lot"],
            "label": [
                written(one, unit=unit) for one, unit in zip(value, points["unit"], strict=True)
            ],
            "unit": points["unit"],
        }
    )


def _only_news(rules: Sequence[tuple[str, ...]]) -> list[str]:
    """A signal is written where it begins; while it lasts, the picture stays readable."""
    before: tuple[str, ...] = ()
    texts = []
    for now in rules:
        fresh = [rule for rule in now if rule not in before]
        texts.append(", ".join(fresh))
        before = now
    return texts


def stream_table(points: pd.DataFrame, signals: pd.DataFrame) -> pd.DataFrame:
    """The lots of one stream, newest first, as people read them."""
    told = signals.groupby("lot")["rule"].agg(", ".join).to_dict()
    unit = str(points["unit"].iloc[0])
    marks = {1: "above ", -1: "below ", 0: "", 2: "about "}
    frame = pd.DataFrame(
        {
            "lot": points["lot"],
            "received": points["received_at"].dt.date,
            "crop": [wording.crop(year) for year in points["crop_year"]],
            f"value ({unit})": [
                marks[int(mark)] + written(value)
                for mark, value in zip(points["censored"], points["value"], strict=True)
            ],
            "samples": points["samples"].astype(int),
            "readings": points["readings"].astype(int),
            "in baseline": points["baseline"],
            "signal": [told.get(lot, "") for lot in points["lot"]],
        }
    )
    return frame.iloc[::-1]


def results_table(results: pd.DataFrame) -> pd.DataFrame:
    """The readings of a lot with what each was derived from."""
    values = [
        wording.interval(low, high, unit)
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


def calculation_table(chain: Chain) -> pd.DataFrame:
    """A worked calculation, one line a step."""
    return pd.DataFrame(
        [
            {
                "step": step.name,
                "how": step.formula,
                "result": f"{float(step.value.item()):,.6g}".replace(
                    ",", "\N{NARROW NO-BREAK SPACE}"
                ),
                "unit": step.unit,
            }
            for step in chain.steps
        ]
    )


def held_table(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows, one line a row, with the text as it came."""
    return held.rename(
        columns={
            "name": "file",
            "source_row": "row",
            "remedy": "what to do",
            "original": "as it came",
        }
    )[["file", "row", "lot", "reason", "what to do", "as it came"]]


def held_groups(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows by file and what is wrong with them: how many, and what to do."""
    grouped = held.groupby(["name", "receipt", "code"], sort=False)
    groups = grouped.agg(
        rows=("source_row", "size"), reason=("reason", "first"), remedy=("remedy", "first")
    ).reset_index()
    return groups.sort_values("rows", ascending=False, kind="stable")


def held_kinds(held: pd.DataFrame) -> pd.DataFrame:
    """Held rows by what is wrong with them, most rows first, with where they are."""
    grouped = held.groupby("code", sort=False)
    kinds = grouped.agg(rows=("source_row", "size"), where=("name", wording.files)).reset_index()
    return kinds.sort_values("rows", ascending=False, kind="stable")


def preview_table(results: pd.DataFrame) -> pd.DataFrame:
    """What the first rows of a file would become."""
    return pd.DataFrame(
        {
            "row": results.index,
            "lot": results["lot"],
            "characteristic": results["characteristic"],
            "method": results["method"],
            "reading": results["reading_text"] + " " + results["reading_unit"],
            "value": [
                wording.interval(low, high, unit)
                for low, high, unit in zip(
                    results["value_low"], results["value_high"], results["unit"], strict=True
                )
            ],
            "basis": results["basis"],
        }
    )


def preview_held(held: pd.DataFrame) -> pd.DataFrame:
    """Rows of a file that would be held."""
    return held.reset_index().rename(
        columns={"source_row": "row", "remedy": "what to do", "original": "as it came"}
    )[["row", "lot", "reason", "what to do", "as it came"]]


def receipts_seen(receipts: pd.DataFrame) -> pd.DataFrame:
    """Received files, newest first."""
    return pd.DataFrame(
        {
            "file": receipts["name"],
            "received (UTC)": receipts["received_at"].dt.strftime("%Y-%m-%d %H:%M"),
            "by": receipts["received_by"],
            "read as": receipts["profile"].where(receipts["profile"] != "", receipts["kind"]),
            "rows": receipts["rows"],
            "stored": receipts["stored"],
            "held": receipts["held"],
            "known": receipts["known"],
            "results": receipts["results"],
            "still held": receipts["still_held"],
            "receipt": receipts["receipt"],
        }
    )


def lots_table(lots: pd.DataFrame) -> pd.DataFrame:
    """All lots, newest first."""
    return pd.DataFrame(
        {
            "lot": lots["lot"],
            "material": lots["material"],
            "supplier": lots["supplier"],
            "received": lots["received_at"].dt.date,
            "crop": lots["harvest_year"],
            "kg": lots["packages"] * lots["package_kg"],
            "price per kg": lots["price_per_kg"],
            "decision": lots["decision"],
            "decided by": lots["decided_by"],
        }
    ).iloc[::-1]


def timeline_frames(survey: Survey, keys: Sequence[StreamKey]) -> dict[StreamKey, pd.DataFrame]:
    """Several streams as the timeline draws them, all over the same time."""
    signals = survey.signals()
    points = {key: survey.of(key) for key in keys}
    since = min(one["received_at"].min() for one in points.values())
    until = max(one["received_at"].max() for one in points.values())
    return {
        key: stream_frame(
            mine, signals[signals["stream"] == mine["stream"].iloc[0]], line=None
        ).assign(since=since, until=until)
        for key, mine in points.items()
    }


def signals_in_words(signals: pd.DataFrame) -> pd.DataFrame:
    """The signals of one stream, newest first, each with its rule in a sentence and its source."""
    rows = signals.to_dict("records")
    return pd.DataFrame(
        [
            {
                "lot": row["lot"],
                "received": row["received_at"].date(),
                "value": written(row["value"], unit=row["unit"]),
                "what is unusual": RULES[row["rule"]].sentence,
                "source of the rule": RULES[row["rule"]].source,
            }
            for row in rows
        ],
        columns=["lot", "received", "value", "what is unusual", "source of the rule"],
    )


def baselines_table(past: pd.DataFrame) -> pd.DataFrame:
    """Versions of a baseline, newest first."""
    return pd.DataFrame(
        {
            "version": past["version"],
            "lots": [len(json.loads(lots)) for lots in past["lots"]],
            "left out": [
                ", ".join(f"{lot} ({why})" for lot, why in json.loads(text).items())
                for text in past["left_out"]
            ],
            "judges from": past["applies_from"].where(past["applies_from"] != "", "the first lot"),
            "begins anew": past["restarts"],
            "limits by": past["kind"].map(wording.kind),
            "rules": [", ".join(json.loads(text)) for text in past["rules"]],
            "frozen by": past["frozen_by"],
            "reason": past["reason"],
            "on (UTC)": past["frozen_at"].dt.strftime("%Y-%m-%d %H:%M"),
        }
    )
