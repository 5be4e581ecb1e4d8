"""A version is named with who stands behind it, when they did, and whether they were alone."""

from datetime import date, datetime

import pytest

from dashboard.frame import approval_words
from spc.answers.signed_versions import SignedVersion
from spc.store.catalogue.approvals import Approval


def approval(**other):
    said = {
        "kind": "specification",
        "name": "cayenne powder",
        "version": 2,
        "effective_from": date(2026, 1, 1),
        "how": "signed",
        "request": "",
        "approved_by": "Mara Quill",
        "reason": "first issue",
        "approved_at": datetime(2026, 1, 2, 20, 41),  # noqa: DTZ001 - the store keeps UTC
    }
    return Approval(**said | other)


def test_the_specification_is_named_with_its_version_and_who_stands_behind_it(judged):
    one = judged("accept", "conforming", text="cayenne powder").specification

    assert approval_words.specification(one, approval()) == (
        "cayenne powder, version 2, in force from 2026-01-01, approved by Mara Quill on"
        " 2 January 2026: first issue"
    )
    assert approval_words.specification(one, None) == (
        "No version of the specification of cayenne powder is approved yet."
    )


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"how": "history"}, "from before the record, as received (approved by Mara Quill)"),
        ({"how": "as received"}, "approved as received by Mara Quill"),
        (
            {"one_person": True},
            "approved by Mara Quill on 2 January 2026, one person, not countersigned yet",
        ),
        (
            {"countersigned_by": "Ines Valbo"},
            "approved by Mara Quill on 2 January 2026, one person, countersigned by Ines Valbo",
        ),
    ],
)
def test_an_approval_says_how_it_came_about(how, said):
    assert approval_words.approved(approval(**how)) == said


def test_a_decision_signed_under_no_approved_version_says_so():
    signed = SignedVersion(material="cayenne powder", version=0, approval=None)

    assert approval_words.signed_under(signed) == (
        "Signed while no version of the specification was approved."
    )
