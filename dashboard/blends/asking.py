"""What is asked of a blend: the inputs of the screen, kept in the address where they are short."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pandas as pd
import streamlit as st

from dashboard.blends.words import recipe
from dashboard.frame.escaping import marked
from dashboard.frame.numbers import number_field, plainly, understood
from spc.acceptance import Line, Specification
from spc.answers.blends.order import AIMS, BlendOrder, Limit
from spc.answers.blends.specified_orders import (
    heat_line,
    materials_with_heat,
    order_from_specification,
)
from spc.answers.specified_lines import newest_specification
from spc.blend.problem.required import required_heat
from spc.blend.problem.rules import ShareLimit

_KEPT: dict[str, Any] = {"bind": "query-params"}
# What most would ask on opening the screen: wide enough for results of a routine method.
_WITHIN = 15.0
_ODDS = 95.0
_SOMEWHERE = 10_000.0
_LIMIT_ODDS = "odds (%)"


def order(specifications: Sequence[Specification], lots: pd.DataFrame) -> BlendOrder:
    """The order as it is asked on the screen.

    Raises
    ------
    InvalidInput
        If what is asked contradicts itself.
    """
    materials = materials_with_heat(specifications)
    first, second, third, fourth, fifth = st.columns([2, 1, 1, 1, 1])
    # Made before the row above it is filled, which it changes.
    aim, most, product = st.columns([2, 1, 2], vertical_alignment="bottom")
    from_product = product.toggle("Ask from a product", key="product", **_KEPT)
    material = first.selectbox("Makes", materials, index=_first(materials), key="makes", **_KEPT)
    chosen = newest_specification(specifications, material or materials[0])
    line = heat_line(chosen)
    batch = number_field(second, "Batch (kg)", 500.0, least=1.0, most=1e6, key="batch", **_KEPT)
    heat, within = _heat(line, third, fourth, from_product=from_product)
    odds = number_field(
        fifth, "Odds (%), 0 for none", _ODDS, least=0.0, most=99.9, key="odds", **_KEPT
    )
    chosen_aim = aim.selectbox(
        "Best is", AIMS, format_func=lambda one: recipe.AIM_WORDS[one], key="aim", **_KEPT
    )
    lots_most = number_field(
        most, "Most lots, 0 for any", 4, least=0, most=50, whole=True, key="most", **_KEPT
    )
    asked = replace(
        order_from_specification(chosen, batch_kg=batch, heat=heat, within=within),
        odds=odds / 100.0 if odds else None,
        aim=chosen_aim or AIMS[0],
        most_lots=int(lots_most) or None,
    )
    return _ruled(asked, materials, lots)


def _first(materials: Sequence[str]) -> int:
    return materials.index("cayenne powder") if "cayenne powder" in materials else 0


def _heat(line: Line | None, third: Any, fourth: Any, *, from_product: bool) -> tuple[float, float]:
    """Target of heat and half the window as a share: asked, or worked out from a product."""
    if line is None:
        return _from_product(third, fourth, _SOMEWHERE)
    start = line.target or line.upper or line.lower or _SOMEWHERE
    if from_product:
        return _from_product(third, fourth, start)
    heat = number_field(
        third, f"Heat ({line.unit})", start, least=1.0, most=1e7, key="heat", **_KEPT
    )
    within = number_field(
        fourth, "Within ± (%)", _WITHIN, least=0.5, most=80.0, key="within", **_KEPT
    )
    return heat, within / 100.0


def _from_product(third: Any, fourth: Any, start: float) -> tuple[float, float]:
    share = number_field(
        fourth, "Blend in the product (%)", 5.0, least=0.01, most=100.0, key="portion", **_KEPT
    )
    product = number_field(
        third,
        "Product's heat (SHU)",
        round(start * 0.05),
        least=1.0,
        most=1e7,
        key="product-heat",
        **_KEPT,
    )
    within = number_field(
        st, "Product's tolerance ± (%)", _WITHIN, least=0.5, most=80.0, key="tolerance", **_KEPT
    )
    found = required_heat(product, share / 100.0, tolerance=within / 100.0)
    return found.target, found.within


def _ruled(asked: BlendOrder, materials: Sequence[str], lots: pd.DataFrame) -> BlendOrder:
    """The same order with its rules and other limits."""
    with st.expander("More limits: other materials, shares, bags, ages, colour and moisture"):
        others = st.multiselect(
            "Draw also from",
            [one for one in materials if one != asked.material],
            key="also",
            placeholder="Other materials",
            **_KEPT,
        )
        drawn = (asked.material, *others)
        limits = _limits(asked.limits, key=asked.material)
        shares = _shares(lots[lots["material"].isin(drawn) & (lots["barred"] == "")])
        bags = _bags()
        left_out = st.multiselect(
            "Leave these lots out",
            lots.loc[lots["material"].isin(drawn) & (lots["barred"] == ""), "lot"].tolist(),
            key="without",
            placeholder="Lots",
            **_KEPT,
        )
    return replace(
        asked,
        drawn_from=drawn,
        limits=limits,
        shares=shares,
        leave_out=tuple(left_out),
        **bags,
    )


def _bags() -> dict[str, Any]:
    left, middle, right, last = st.columns(4, vertical_alignment="bottom")
    whole = left.toggle("Unopened bags go in whole", value=True, key="whole", **_KEPT)
    first = middle.toggle("Opened bags first", key="opened-first", **_KEPT)
    age, stands = (
        number_field(place, label, 0, least=0, most=2000, whole=True, key=key, **_KEPT)
        for place, label, key in (
            (right, "Results not older than (days), 0 for any", "age"),
            (last, "Results and decisions stand for another (days)", "stands"),
        )
    )
    return {
        "whole_bags": whole,
        "opened_first": first,
        "most_result_age_days": float(age) or None,
        "shelf_life_days": float(stands) or None,
    }


def _limits(limits: Sequence[Limit], *, key: str) -> tuple[Limit, ...]:
    """Limits of the other characteristics, as the specification has them until they are changed."""
    if not limits:
        return ()
    st.caption("Other characteristics, as the specification limits them:")
    edited = st.data_editor(
        pd.DataFrame(
            [
                {
                    "characteristic": one.characteristic,
                    "from": _shown(one.lower),
                    "to": _shown(one.upper),
                    "unit": one.unit,
                    _LIMIT_ODDS: "",
                    "keep": True,
                }
                for one in limits
            ]
        ),
        hide_index=True,
        disabled=["characteristic", "unit"],
        column_config={
            _LIMIT_ODDS: st.column_config.TextColumn(help=recipe.ODDS_OF_LIMITS),
        },
        key=f"limits-{key}",
    )
    return tuple(
        replace(
            one,
            lower=_figure(row["from"], one.characteristic),
            upper=_figure(row["to"], one.characteristic),
            odds=_odds(row[_LIMIT_ODDS], one.characteristic),
        )
        for one, row in zip(limits, edited.to_dict("records"), strict=True)
        if row["keep"] and f"{row['from'] or ''}{row['to'] or ''}".strip()
    )


def _shares(lots: pd.DataFrame) -> tuple[ShareLimit, ...]:
    """Least and most share of each lot used, of a supplier and of an origin."""
    left, middle, right = st.columns(3)
    least, most = left.slider("Share of each lot used (%)", 0, 100, (2, 100), key="each")
    found = [] if (least, most) == (0, 100) else [_share("each lot", "", least, most)]
    for place, of in ((middle, "supplier"), (right, "origin")):
        names = sorted({name for name in lots[of] if name})
        name = place.selectbox(
            f"Limit the share of one {of}", names, index=None, key=of, placeholder=f"Any {of}"
        )
        if name:
            low, high = place.slider(
                marked(f"Share of {name} (%)"), 0, 100, (0, 100), key=f"share-{of}"
            )
            found.append(_share(of, name, low, high))
    return tuple(found)


def _share(of: Any, name: str, least: float, most: float) -> ShareLimit:
    return ShareLimit(of=of, name=name, least=least / 100.0, most=most / 100.0)


def _figure(typed: str | None, what: str) -> float | None:
    if not (typed or "").strip():
        return None
    return understood(typed or "", f"limit of {what}", least=0.0, most=1e9)


def _odds(typed: str | None, what: str) -> float | None:
    if not (typed or "").strip():
        return None
    return understood(typed or "", f"odds of {what} (%)", least=50.0, most=99.9) / 100.0


def _shown(limit: float | None) -> str:
    return "" if limit is None else plainly(limit)
