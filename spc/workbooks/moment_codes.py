"""Dates and times of spreadsheets: what a person sees of a stored moment."""

from datetime import datetime, timedelta
from functools import cache
from typing import Final

from spc.workbooks.number_codes import Part, Section

_MONTHS: Final = (
    *("January", "February", "March", "April", "May", "June", "July", "August", "September"),
    *("October", "November", "December"),
)
_DAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
# The first day of the two ways to count days, and where the first one counts a day that never was.
_FIRST: Final = datetime(1899, 12, 30)  # noqa: DTZ001 - a workbook's dates have no zone
_FIRST_1904: Final = datetime(1904, 1, 1)  # noqa: DTZ001
_NEVER: Final = 60.0


def moment_of(serial: float, *, from_1904: bool) -> datetime | None:
    """The moment that a number of days stands for; none if no calendar has it."""
    if serial < 0.0 or (_NEVER <= serial < _NEVER + 1.0 and not from_1904):
        return None
    if serial < _NEVER and not from_1904 and serial >= 1.0:
        serial += 1.0
    try:
        # To the millisecond, which is as fine as a day in a double is.
        within = timedelta(milliseconds=round(serial % 1.0 * 86_400_000))
        return (_FIRST_1904 if from_1904 else _FIRST) + timedelta(days=serial // 1.0) + within
    except (OverflowError, ValueError):
        return None


def shown_moment(section: Section, moment: datetime, *, elapsed: timedelta) -> str:
    """What a format shows of a moment.

    Parameters
    ----------
    section
        Of the format.
    moment
        As it is stored.
    elapsed
        The same as a time since the first day.

    Returns
    -------
    str
        ISO form where day, month and year are shown, whatever the order, or only a time is; the
        text itself where a part of the date is hidden.
    """
    if any(kind == "elapsed" for kind, _ in section.parts):
        return _elapsed(elapsed)
    parts = _told_apart(section.parts)
    said = {text[:1] for kind, text in parts if kind == "date"}
    timed = any(kind == "time" for kind, _ in parts)
    if said >= set("ymd"):
        midnight = not (moment.hour or moment.minute or moment.second)
        whole = moment.isoformat(sep=" ", timespec="seconds")
        return whole if timed or not midnight else whole[:10]
    if timed and not said:
        return moment.time().isoformat(timespec="seconds")
    return "".join(_worded(kind, text, moment) for kind, text in parts)


def _elapsed(time: timedelta) -> str:
    seconds = round(time.total_seconds())
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


@cache
def _told_apart(parts: tuple[Part, ...]) -> tuple[Part, ...]:
    """Signs joined to words such as yyyy; an m after hours or before seconds is a minute."""
    joined: list[list[str]] = []
    for kind, text in parts:
        same = joined and joined[-1][0] == kind == "moment" and joined[-1][1][-1] == text.lower()
        if same:
            joined[-1][1] += text.lower()
        else:
            joined.append([kind, text.lower() if kind == "moment" else text])
    words = [(place, text) for place, (kind, text) in enumerate(joined) if kind == "moment"]
    for at, (place, text) in enumerate(words):
        before = words[at - 1][1] if at else ""
        after = words[at + 1][1] if at + 1 < len(words) else ""
        minutes = text[0] == "m" and len(text) < 3 and ("h" in before or "s" in after)
        joined[place][0] = "time" if minutes or text[0] in "hs" else "date"
    return tuple((kind, text) for kind, text in joined)


def _worded(kind: str, text: str, moment: datetime) -> str:
    if kind == "date":
        return _date_word(text, moment)
    if kind == "time":
        value = {"h": moment.hour, "m": moment.minute, "s": moment.second}[text[0]]
        return f"{value:0{min(len(text), 2)}d}"
    if kind == "half":
        return "AM" if moment.hour < 12 else "PM"
    return "" if kind == "text" else text


def _date_word(text: str, moment: datetime) -> str:
    if text[0] == "y":
        return f"{moment.year:04d}" if len(text) > 2 else f"{moment.year % 100:02d}"
    if len(text) < 3:
        return f"{moment.month if text[0] == 'm' else moment.day:0{len(text)}d}"
    name = _MONTHS[moment.month - 1] if text[0] == "m" else _DAYS[moment.weekday()]
    return name if len(text) == 4 else name[:3]
