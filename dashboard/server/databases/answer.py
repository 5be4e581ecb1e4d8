"""The answer of another database as comma-separated text, within limits of time and size."""

import csv
import io
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from datetime import time as clock_time
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from dashboard.server.databases.refusals import refused
from spc.errors import IntakeError
from spc.intake.readers.limits import LARGEST_MB

AT_ONCE: Final = 10_000
_AS_THEY_ARE: Final = (str, int, float, date, clock_time, UUID)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """How long a query may take, and how much it may answer; what is beyond is refused whole."""

    seconds: float = 60.0
    rows: int = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Deadline:
    """When the time of a query is over, by a clock that nobody sets."""

    limits: Limits
    ends: float

    @property
    def is_over(self) -> bool:
        """Whether it has passed."""
        return time.monotonic() > self.ends


def deadline(limits: Limits) -> Deadline:
    """The end of the time of a query that is asked now."""
    return Deadline(limits=limits, ends=time.monotonic() + limits.seconds)


def too_long(limits: Limits) -> IntakeError:
    """The refusal of a query that takes too long."""
    return refused(
        f"the query takes longer than {limits.seconds:g} seconds.",
        "Ask for less at a time, or allow more with --seconds.",
    )


def written(
    headers: Sequence[str], parts: Iterable[Sequence[Sequence[Any]]], until: Deadline
) -> tuple[bytes, int]:
    """The text, and how many rows it has below its header.

    Raises
    ------
    IntakeError
        If it is too large or takes too long, or a value is neither text, number nor moment.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(headers)
    rows = 0
    for part in parts:
        writer.writerows(
            [[_cell(value, headers[place]) for place, value in enumerate(row)] for row in part]
        )
        rows += len(part)
        _refuse_more(rows, text.tell(), until)
    return text.getvalue().encode(), rows


def _refuse_more(rows: int, size: int, until: Deadline) -> None:
    if rows > until.limits.rows:
        raise refused(
            f"the answer has more than {until.limits.rows:,} rows.",
            "Ask for less at a time, or allow more with --rows.",
        )
    if size > LARGEST_MB * 1_000_000:
        raise refused(f"the answer is larger than {LARGEST_MB} MB.", "Ask for less at a time.")
    if until.is_over:
        raise too_long(until.limits)


def _cell(value: Any, header: str) -> str:
    """A value as text, moments with an offset in UTC; nothing for a null."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime):
        moment = value.astimezone(UTC) if value.tzinfo else value
        return moment.replace(tzinfo=None).isoformat(sep=" ", timespec="seconds")
    if isinstance(value, Decimal):
        return format(value, "f")
    if not isinstance(value, _AS_THEY_ARE):
        raise refused(
            f"the column {header!r} holds {type(value).__name__}, and no text or number.",
            "Leave the column out, or turn it into text in the query.",
        )
    return str(value)
