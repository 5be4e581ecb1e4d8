"""Figures of a lot's record, drawn as vectors."""

from functools import cache
from typing import Any, Final

import pandas as pd

from dashboard.frame.charts.spec import as_spec
from dashboard.frame.paper_figures import drawn
from dashboard.lots.charts.conformity import conformity_chart
from spc.acceptance import Line

NARROW: Final = 400


def conformity(frame: pd.DataFrame, line: Line) -> str:
    """The plausible values of a lot mean against the limits of a line."""
    spec = _conformity_spec(
        log=line.scale == "log", lower=line.lower is not None, upper=line.upper is not None
    )
    return drawn(spec, frame, width=NARROW)


@cache
def _conformity_spec(*, log: bool, lower: bool, upper: bool) -> dict[str, Any]:
    return as_spec(conformity_chart(log=log, lower=lower, upper=upper))
