"""What held rows say against the safety of lots: kept, and standing until it is settled."""

from collections.abc import Collection
from typing import Final

import pandas as pd

from spc.store.file.cursors import Cursor
from spc.store.record import rows

_KEY: Final = ["source_row", "lot", "characteristic", "sentence"]

OF_RECEIPT: Final = """
    select source_row, lot, characteristic, sentence
    from alarm
    where receipt = $receipt
"""

# A row that was taken in speaks by its result.  One that was dismissed speaks on, until the same is
# measured of the lot again.
STANDING: Final = """
    select
        alarm.lot, alarm.sentence, alarm.source_row, receipt.name,
        held_row_end.ended_by, held_row_end.reason
    from alarm
    join receipt using (receipt)
    left join held_row_end using (receipt, source_row)
    where list_contains($lots, alarm.lot)
      and (
          held_row_end.how is null
          or (
              held_row_end.how = 'dismissed'
              and not exists (
                  from current_result
                  where current_result.lot            = alarm.lot
                    and current_result.characteristic = alarm.characteristic
                    and current_result.entry          > held_row_end.entry
              )
          )
      )
    order by alarm.lot, alarm.entry, receipt.name, alarm.source_row, alarm.sentence
"""


def keep(cursor: Cursor, alarms: pd.DataFrame, *, receipt: str) -> None:
    """Keep what held rows say, once each."""
    if alarms.empty:
        return
    kept = cursor.execute(OF_RECEIPT, {"receipt": receipt}).df()
    said = alarms.rename_axis("source_row").reset_index()[_KEY].drop_duplicates()
    known = set(kept[_KEY].itertuples(index=False, name=None))
    fresh = said[[one not in known for one in said.itertuples(index=False, name=None)]]
    rows.append(cursor, "alarm", fresh.assign(receipt=receipt))


def standing(cursor: Cursor, lots: Collection[str]) -> dict[str, list[str]]:
    """By lot, what stands against its safety in rows that were not taken in, as sentences."""
    found: dict[str, list[str]] = {}
    every = cursor.execute(STANDING, {"lots": list(lots)}).fetchall()
    for lot, sentence, row, name, by, reason in every:
        became = f"dismissed by {by}: {reason.rstrip('.')}" if by else "held at intake"
        told = f"{sentence}, by row {row} of {name} ({became})."
        found.setdefault(lot, []).append(told)
    return {lot: list(dict.fromkeys(told)) for lot, told in found.items()}
