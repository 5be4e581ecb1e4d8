"""What is said where results are typed in."""

from typing import Final

HOW: Final = (
    "A row for each reading. Write what the instrument or the certificate shows, also `<0.5` or"
    " `>35`, and times as 2026-11-20 08:30 in UTC. The sheet is checked and kept like a file: what"
    " is typed is never changed, only superseded."
)
OPEN: Final = "Choose what was measured, and on which basis, to get the sheet."
EMPTY: Final = "Fill in a row and have it checked; it is shown as it would be taken in."
