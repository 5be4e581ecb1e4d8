"""One statement that selects: what every database is asked, and nothing else."""

import re
from typing import Final

from dashboard.server.databases.refusals import refused

_READS: Final = re.compile(r"\s*(select|with)\b", re.IGNORECASE)
# What may hold a semicolon that ends nothing: texts, names in quotes, remarks.
_CLOSED: Final = re.compile(
    r"""'(?:[^']|'')*' | "(?:[^"]|"")*" | `[^`]*` | \$(\w*)\$.*?\$\1\$ | --[^\n]* | /\*.*?\*/""",
    re.VERBOSE | re.DOTALL,
)


def refuse_other(query: str) -> None:
    """Refuse what is not one statement that begins like a question.

    Whether it only selects is left to the database, which reads its own language: it is opened for
    reading only.

    Raises
    ------
    IntakeError
        With what to do.
    """
    if not _READS.match(query):
        raise refused("the query does not begin with select or with.", "Ask for rows only.")
    bare = _CLOSED.sub(" ", query).strip().removesuffix(";")
    if ";" in bare:
        raise refused("the query is not one statement that selects.", "Ask one at a time.")
