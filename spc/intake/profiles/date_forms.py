"""Forms in which a source writes its dates, as its profile names them."""

from datetime import UTC, datetime
from typing import Final

# A form of date: any moment in ISO form, with or without a time of day and a distance from UTC.
ISO: Final = "ISO8601"
# Only to try a form out.
_SOME_DAY: Final = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)


def misform(form: str) -> str:
    """What keeps a text from being a form of date, as a sentence; empty if nothing does."""
    if form == ISO:
        return ""
    if not form:
        return "date_format is empty, and dates are never guessed."
    try:
        read = datetime.strptime(_SOME_DAY.strftime(form), form)  # noqa: DTZ007 - only the day counts
    except ValueError:
        return f"{form!r} is no form of a date."
    if read.date() != _SOME_DAY.date():
        return f"{form!r} does not say year, month and day."
    return ""
