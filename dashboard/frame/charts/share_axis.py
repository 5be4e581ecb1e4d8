"""Axis of deviations and spreads told in per cent, as the sentences beside it write them."""

from typing import Any

import altair as alt

from dashboard.frame.charts.axes import colour
from dashboard.frame.theme import LINE, QUIET
from spc.digits import THIN


def share_axis(*, signed: bool, **options: Any) -> alt.Axis:
    """Axis of shares.

    Parameters
    ----------
    signed
        Whether a share above zero carries its sign too.
    options
        Passed on to the axis.
    """
    plus = "'+'" if signed else "''"
    sign = f"(datum.value > 1e-9 ? {plus} : datum.value < -1e-9 ? '−' : '')"
    return alt.Axis(
        title=None,
        labelExpr=f"{sign} + format(abs(100 * datum.value), '.3~f') + '{THIN}%'",
        labelColor=colour(QUIET),
        labelFontSize=12,
        labelPadding=6,
        gridColor=colour(LINE),
        **{"tickCount": 5, **options},
    )
