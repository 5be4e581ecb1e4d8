"""What went wrong as an answer to programs: what, where, what to do, and of which kind."""

from http import HTTPStatus

from starlette.responses import JSONResponse

from dashboard.server.reaching import KINDS
from spc.errors import LotHeatError, NotAllowed, NotKnown, SignInRefused, StoreError


def answered(problem: LotHeatError, *, where: str = "") -> JSONResponse:
    """The answer that tells a problem."""
    if isinstance(problem, NotKnown | SignInRefused):
        status = HTTPStatus.UNAUTHORIZED
    elif isinstance(problem, NotAllowed):
        status = HTTPStatus.FORBIDDEN
    elif isinstance(problem, StoreError):
        status = HTTPStatus.SERVICE_UNAVAILABLE
    else:
        status = HTTPStatus.UNPROCESSABLE_ENTITY
    kinds = [one for one in (*KINDS.values(), StoreError) if isinstance(problem, one)]
    return refused(
        status,
        problem.what,
        problem.remedy,
        where=where or problem.where,
        kind=kinds[0].__name__ if kinds else LotHeatError.__name__,
    )


def refused(
    status: HTTPStatus, what: str, remedy: str, *, where: str = "", kind: str = "IntakeError"
) -> JSONResponse:
    """An answer that tells what is wrong with a request."""
    told = {"what": what, "where": where, "remedy": remedy, "kind": kind}
    return JSONResponse(told, status_code=status)
