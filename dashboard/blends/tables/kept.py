"""Stock, blends that are kept, and what became of them, as people read them."""

import math

import pandas as pd

from dashboard.blends.words.recipe import money
from dashboard.frame.lot_addresses import lot_address
from spc.digits import percent, written


def stock_table(lots: pd.DataFrame) -> pd.DataFrame:
    """What is there of each lot, newest first; used-up lots left out."""
    there = lots[
        lots["available_kg"].isna() | (lots["available_kg"] > 0.0) | (lots["reserved_kg"] > 0.0)
    ]
    there = there.iloc[::-1]
    return pd.DataFrame(
        {
            "lot": [lot_address(lot) for lot in there["lot"]],
            "material": there["material"],
            "supplier": there["supplier"],
            "available (kg)": there["available_kg"],
            "set aside (kg)": there["reserved_kg"],
            "whole bags": there["bags"],
            "kg a bag": there["bag_kg"],
            "opened (kg)": there["opened_kg"],
            "days here": there["age_days"],
            "price": [
                money(price, currency, per="kg")
                for price, currency in zip(there["price_per_kg"], there["currency"], strict=True)
            ],
            "decision": there["decision"].where(there["decision"] != "", "waiting"),
            "not for blends because": there["barred"],
        }
    )


def blends_table(every: pd.DataFrame) -> pd.DataFrame:
    """Blends that are kept, the newest first."""
    return pd.DataFrame(
        {
            "name": every["name"],
            "makes": every["material"],
            "state": every["status"],
            "since": pd.to_datetime(every["since"]).dt.date,
            "sheet": every["sheet"],
            "lot made": every["lot"],
            "kg": every["total_kg"],
            "lots": every["portions"],
            "odds": [_share(one) for one in every["odds"]],
            "cost": [
                money(_number(cost), currency, per="kg")
                for cost, currency in zip(every["cost_per_kg"], every["currency"], strict=True)
            ],
            "by": every["drafted_by"],
            "note": every["note"],
        }
    )


def side_by_side(
    every: pd.DataFrame, portions: pd.DataFrame, predicted: pd.DataFrame
) -> pd.DataFrame:
    """Two or more blends, one column each, with what differs between them."""
    columns = {}
    for row in every.to_dict("records"):
        mine = portions[portions["blend"] == row["blend"]]
        told = predicted[predicted["blend"] == row["blend"]]
        columns[f"{row['name']} ({row['status']})"] = {
            "kg": written(row["total_kg"]),
            "cost": money(_number(row["cost_per_kg"]), row["currency"], per="kg"),
            "odds": _share(row["odds"]),
            **{
                f"predicted {one['characteristic']}": written(
                    one["mean"], uncertainty=one["standard_deviation"]
                )
                for one in told.to_dict("records")
            },
            **{f"lot {one['lot']}": f"{written(one['kg'])} kg" for one in mine.to_dict("records")},
        }
    frame = pd.DataFrame(columns)
    return frame.fillna("–").rename_axis("what").reset_index()


def outcome_frame(against: pd.DataFrame) -> pd.DataFrame:
    """Predicted against measured heat, as the chart draws it."""
    known = against[against["measured"].notna()]
    if known.empty:
        return pd.DataFrame()
    blends = pd.DataFrame(
        {
            "kind": "blend",
            "predicted": known["predicted"],
            "measured": known["measured"],
            "low": known["measured"] - 2.0 * known["measured_u"],
            "high": known["measured"] + 2.0 * known["measured_u"],
            "told_low": known["predicted"] - 2.0 * known["predicted_sd"],
            "told_high": known["predicted"] + 2.0 * known["predicted_sd"],
            "name": known["name"],
            "words": [
                f"predicted {written(row['predicted'], uncertainty=row['predicted_sd'])}, measured"
                f" {written(row['measured'], uncertainty=row['measured_u'], unit=row['unit'])}"
                for row in known.to_dict("records")
            ],
        }
    )
    both = blends[["predicted", "measured"]].to_numpy()
    ends = [float(both.min()), float(both.max())]
    same = pd.DataFrame({"kind": "same", "predicted": ends, "measured": ends})
    return pd.concat([same, blends], ignore_index=True)


def outcome_table(against: pd.DataFrame) -> pd.DataFrame:
    """Predicted against measured, one line a blend and characteristic."""
    return pd.DataFrame(
        {
            "blend": against["name"],
            "sheet": against["sheet"],
            "lot": [lot_address(lot) for lot in against["lot"]],
            "characteristic": against["characteristic"],
            "predicted": [
                written(row["predicted"], uncertainty=row["predicted_sd"], unit=row["unit"])
                for row in against.to_dict("records")
            ],
            "measured": [
                row["remark"]
                or written(row["measured"], uncertainty=row["measured_u"], unit=row["unit"])
                for row in against.to_dict("records")
            ],
            "apart, in standard uncertainties": [_apart(zeta) for zeta in against["zeta"]],
        }
    )


def _apart(zeta: float) -> str:
    if not math.isfinite(zeta):
        return "–"
    shown = round(zeta, 1)
    return f"{shown:+.1f}".replace("-", "−") if shown else "0.0"


def _share(odds: float | None) -> str:
    return "–" if odds is None or math.isnan(odds) else percent(odds)


def _number(value: float | None) -> float:
    return math.nan if value is None else float(value)


def portions_table(portions: pd.DataFrame) -> pd.DataFrame:
    """What a blend takes of each lot."""
    return pd.DataFrame(
        {
            "lot": [lot_address(lot) for lot in portions["lot"]],
            "kg": portions["kg"].round(2),
            "whole bags": portions["bags"],
            "share": [percent(share) for share in portions["share"]],
        }
    )


def events_table(events: pd.DataFrame) -> pd.DataFrame:
    """What happened to a blend, oldest first."""
    return pd.DataFrame(
        {
            "what": events["what"],
            "when": pd.to_datetime(events["happened_at"]).dt.strftime("%Y-%m-%d %H:%M"),
            "by": events["signed_by"],
            "role": events["role"],
            "with": events["second_person"],
            "sheet": events["sheet"],
            "lot": events["lot"],
            "reason": events["reason"],
        }
    )


def trace_table(found: pd.DataFrame) -> pd.DataFrame:
    """Every lot that holds some of a lot."""
    return pd.DataFrame(
        {
            "lot": [lot_address(lot) for lot in found["lot"]],
            "share of it": [percent(share) for share in found["share"]],
            "material": found["material"],
            "decision": found["decision"].where(found["decision"] != "", "waiting"),
        }
    )


def moves_table(moves: pd.DataFrame) -> pd.DataFrame:
    """What happened to the stock of a lot, newest first."""
    newest = moves.iloc[::-1]
    return pd.DataFrame(
        {
            "what": newest["kind"],
            "when": pd.to_datetime(newest["moved_at"]).dt.strftime("%Y-%m-%d %H:%M"),
            "kg": newest["kg"],
            "whole bags": newest["bags"],
            "kg a bag": newest["bag_kg"],
            "opened (kg)": newest["opened_kg"],
            "then there (kg)": newest["there_kg"],
            "then set aside (kg)": newest["reserved_kg"],
            "blend": newest["name"],
            "by": newest["moved_by"],
            "reason": newest["reason"],
        }
    )
