"""Tables that lie on their side: a lot in each column, and what was measured in each row."""

from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.readers import SURPLUS, Table
from spc.intake.readers.header import unique

# A table with more lots or more lines than this is no report that lies on its side.
_MOST: Final = 500


def turned(table: Table) -> Table | None:
    """The table with its columns as rows, each numbered as the column was; None if it is none."""
    cells = table.cells
    lines, lots = len(cells), len(table.headers) - 1
    if not (0 < lines <= _MOST and 0 < lots <= _MOST) or (cells[SURPLUS] != "").any():
        return None
    texts = cells[list(table.headers)].astype("str")
    headers = unique([table.headers[0], *texts.iloc[:, 0]])
    across = np.array([[name, *texts[name]] for name in table.headers[1:]], dtype=object)
    index = pd.Index(np.arange(2, 2 + lots), dtype="int64", name="source_row")
    frame = pd.DataFrame(across, columns=list(headers), index=index)
    return replace(
        table,
        headers=headers,
        cells=frame.assign(**{SURPLUS: ""}).astype("str"),
        marks=table.marks.turned(cells.index.tolist(), first=2),
    )
