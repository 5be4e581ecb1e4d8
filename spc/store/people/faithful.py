"""Whether a request says what its deed would do: anybody who may ask can write one by hand."""

from spc.errors import SignatureRefused
from spc.store.people.asking import Ask, as_kept
from spc.store.people.requests import Request


def refuse_other(request: Request, ask: Ask) -> None:
    """Refuse to do what a request does not say.

    Parameters
    ----------
    ask
        What would be asked now for the same.

    Raises
    ------
    SignatureRefused
        If deed, subject, meaning or what was shown is another.
    """
    said = (request.deed, request.subject, request.meaning, dict(request.about))
    if said != (ask.deed, ask.subject, ask.meaning, as_kept(ask.about)):
        raise SignatureRefused(
            "what was signed does not say what it would do.",
            where=request.subject,
            remedy="Ask for it again on its own page.",
            reason_typed=request.reason,
        )
