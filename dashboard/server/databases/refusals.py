"""What is said when another database cannot be asked; never a password."""

from urllib.parse import quote, quote_plus

from spc.errors import IntakeError

ASK_FIRST = "Try it with the database's own client first."


def refused(what: str, remedy: str) -> IntakeError:
    """A refusal of a query: what is wrong, and what to do."""
    return IntakeError(what, where="database query", remedy=remedy)


def failed(said: str) -> IntakeError:
    """The refusal of a query that the database would not answer."""
    return refused(f"the query failed: {said}.", ASK_FIRST)


def only_reads(said: str) -> IntakeError:
    """The refusal of a query that would change something."""
    return refused(
        f"the query would do more than select: {said}.", "Ask for rows only; nothing was changed."
    )


def first_line(problem: BaseException, *, secret: str) -> str:
    """What a driver says in its first line, without the password, however it is spelled."""
    said = next(iter(str(problem).strip().splitlines()), type(problem).__name__)
    for spelled in {secret, quote(secret, safe=""), quote_plus(secret)} - {""}:
        said = said.replace(spelled, "***")
    return said.rstrip(".")
