"""Who signs a provider's answers, by its own description."""

import httpx2

from spc.errors import ProviderSilent


def issuer(metadata: str) -> str:
    """The issuer that a provider's description names.

    Raises
    ------
    ProviderSilent
        If there is no description at the address, or it names none.
    """
    try:
        named = httpx2.get(metadata, timeout=20).raise_for_status().json()["issuer"]
    except (httpx2.HTTPError, httpx2.InvalidURL, ValueError, KeyError, TypeError) as problem:
        raise ProviderSilent(
            f"the company's sign-in does not describe itself ({type(problem).__name__}).",
            where=metadata,
            remedy="Check the metadata address in the sign-in file, and try again.",
        ) from problem
    return str(named)
