"""Time stamps of a third party (RFC 3161): that something existed by a time, said by somebody else.

A request holds a digest only; how it gets to the authority, and the answer back, is not decided
here.  What is checked needs no network, but the authority's root certificate.
"""

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Final, TypeAlias

from cryptography.x509 import Certificate, load_pem_x509_certificate
from rfc3161_client import (
    HashAlgorithm,
    TimestampRequestBuilder,
    TimeStampResponse,
    VerificationError,
    VerifierBuilder,
    decode_timestamp_response,
)

from spc.errors import InvalidInput

Root: TypeAlias = Certificate

# RFC 3161, 2.4.2: granted, and granted with changes.
_GRANTED: Final = (0, 1)


def request(said: bytes) -> bytes:
    """What an authority is asked, as it is sent: a digest, and that the answer names its signer."""
    builder = TimestampRequestBuilder().data(said).hash_algorithm(HashAlgorithm.SHA256)
    return builder.nonce(nonce=True).cert_request(cert_request=True).build().as_bytes()


def answered(content: bytes, said: bytes) -> bytes:
    """The answer of an authority to `request`, once it is seen that it stamps what was asked.

    Whether it is signed by whom it should be is checked when an anchor is held against a store.

    Raises
    ------
    InvalidInput
        If it is no answer, refuses, or stamps something else.
    """
    try:
        answer: TimeStampResponse = decode_timestamp_response(content)
        granted = answer.status in _GRANTED
        stamped = granted and answer.tst_info.message_imprint.message
    except ValueError as problem:
        raise _no_stamp(f"what it answered is no time stamp: {problem}") from problem
    if not granted:
        raise _no_stamp(f"it refused: {' '.join(answer.status_string) or answer.status}")
    if stamped != hashlib.sha256(said).digest():
        raise _no_stamp("it stamped something else")
    return content


def certificate(pem: bytes) -> Root:
    """The root certificate of an authority.

    Raises
    ------
    InvalidInput
        If it is none.
    """
    try:
        return load_pem_x509_certificate(pem)
    except ValueError as problem:
        raise InvalidInput(
            "it is no certificate that can be read.",
            where="root certificate",
            remedy="Give the root certificate of the time-stamp authority as PEM.",
        ) from problem


def faults(token: bytes, said: bytes, root: Root) -> Iterator[str]:
    """What stands against a time stamp, to be said of what was stamped."""
    try:
        answer = decode_timestamp_response(token)
        VerifierBuilder().add_root_certificate(root).build().verify_message(answer, said)
    except (ValueError, VerificationError) as problem:
        yield f"has a time stamp that does not hold: {problem}."


def stamped_at(token: bytes) -> datetime:
    """The time that a time stamp tells, UTC without zone; it was checked before."""
    answer: TimeStampResponse = decode_timestamp_response(token)
    return answer.tst_info.gen_time.astimezone(UTC).replace(tzinfo=None)


def _no_stamp(why: str) -> InvalidInput:
    return InvalidInput(
        f"the time-stamp authority gave no stamp: {why}.",
        where="time stamp",
        remedy="Check its address; what it answers must be a reply after RFC 3161.",
    )
