"""One table says who may do what, and no door of the store is without its line."""

import inspect

import pytest

from spc.errors import NotAllowed
from spc.store import Store
from spc.store.desks.approval_desk import ApprovalDesk
from spc.store.desks.blend_desk import BlendDesk
from spc.store.desks.compare_desk import CompareDesk
from spc.store.desks.intake_desk import IntakeDesk
from spc.store.desks.people_desk import PeopleDesk
from spc.store.desks.signing_desk import SigningDesk
from spc.store.people import (
    ALONE,
    ALWAYS_TWO,
    ANY_DEED,
    BEHIND_FILES,
    DEEDS,
    DOORS,
    ROLES,
    SENDER_DEEDS,
    TWO_BY_DEFAULT,
    Actor,
    permit,
)
from spc.store.people.permissions import permit_beside

FACES = (Store, ApprovalDesk, CompareDesk, BlendDesk, IntakeDesk, PeopleDesk, SigningDesk)


def doors():
    """Every public method of the store and its desks that is told who acts."""
    return {
        f"{face.__name__}.{name}"
        for face in FACES
        for name, method in inspect.getmembers(face, inspect.isfunction)
        if not name.startswith("_") and "by" in inspect.signature(method).parameters
    }


def somebody(*roles):
    return Actor(person="1", name="Somebody", roles=roles, way="session")


def test_every_door_that_is_told_who_acts_has_its_deeds():
    assert doors() == DOORS.keys() | ANY_DEED


def test_every_desk_of_the_store_is_asked_for_its_doors():
    desks = {
        inspect.signature(attribute.fget).return_annotation
        for _, attribute in inspect.getmembers(Store, lambda one: isinstance(one, property))
    }

    assert {desk for desk in desks if inspect.isclass(desk) and "Desk" in desk.__name__} == {
        *FACES
    } - {Store}


def test_every_deed_has_a_door_and_every_door_a_deed():
    behind = {deed for deeds in DOORS.values() for deed in deeds}

    assert behind | BEHIND_FILES == DEEDS.keys()
    assert not behind & BEHIND_FILES


def test_the_table_names_only_roles_that_there_are():
    for rule in DEEDS.values():
        assert {*rule.roles, *rule.beside, *rule.among} <= set(ROLES)
        assert rule.roles
        assert not rule.among or set(rule.among) & set(rule.roles + rule.beside)


def test_the_lists_of_deeds_name_only_deeds_that_there_are():
    for deeds in (ALONE, ALWAYS_TWO, TWO_BY_DEFAULT, SENDER_DEEDS):
        assert set(deeds) <= DEEDS.keys()


def test_nothing_that_is_always_two_persons_can_be_done_alone():
    assert not ALWAYS_TWO & ALONE


@pytest.mark.parametrize(
    "deed",
    [
        "accept a lot",
        "concede a lot",
        "release a lot over a hold",
        "reject a lot",
        "void results",
        "withdraw results",
        "approve a specification",
        "register people",
    ],
)
@pytest.mark.parametrize("role", ["purchasing", "viewer"])
def test_purchasing_and_viewers_decide_nothing(role, deed):
    with pytest.raises(NotAllowed):
        permit(somebody(role), deed)
    with pytest.raises(NotAllowed):
        permit_beside(somebody(role), deed, first="QA lead")


@pytest.mark.parametrize("deed", sorted(DEEDS.keys() - {"look"}))
def test_a_viewer_only_looks(deed):
    assert permit(somebody("viewer"), "look") == "viewer"
    with pytest.raises(NotAllowed):
        permit(somebody("viewer"), deed)


def test_a_refusal_names_the_roles_that_may():
    with pytest.raises(NotAllowed) as refused:
        permit(somebody("purchasing"), "accept a lot")

    assert refused.value.roles == ("QA officer", "QA lead")
    assert str(refused.value) == (
        "Somebody (purchasing) may not accept a lot."
        " Ask someone with the role QA officer or QA lead."
    )


@pytest.mark.parametrize("deed", sorted(DEEDS))
def test_somebody_without_a_role_does_nothing(deed):
    with pytest.raises(NotAllowed, match="without a role"):
        permit(somebody(), deed)


def test_whoever_has_two_roles_acts_in_the_one_that_weighs_more():
    assert permit(somebody("QA officer", "QA lead"), "concede a lot") == "QA lead"
    assert permit(somebody("QA officer", "administrator"), "accept a lot") == "QA officer"


def test_of_two_officers_neither_is_the_lead_that_a_concession_needs():
    officer, lead = somebody("QA officer"), somebody("QA lead")

    with pytest.raises(NotAllowed) as refused:
        permit_beside(officer, "concede a lot", first="QA officer")

    assert refused.value.roles == ("QA lead",)
    assert permit_beside(lead, "concede a lot", first="QA officer") == "QA lead"
    assert permit_beside(officer, "concede a lot", first="QA lead") == "QA officer"
