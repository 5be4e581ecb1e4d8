"""A specification counts from its approval on: seen, signed, and never quietly back-dated."""

import json
import shutil
from datetime import date, timedelta
from unittest import mock

import pytest

from spc.errors import NotAllowed, SignatureRefused, UnknownName
from spc.store import Store
from spc.store.approving import effects
from spc.store.approving.asking import Approving
from spc.store.catalogue.approvals import Key
from spc.store.people import CUT_OVER, Ask
from tests.staff import ME, MY_NAME, enter, ines, mara, signed

MATERIAL = "cayenne powder"
SECOND = Key("specification", MATERIAL, 2)
# The stocked store stands still at the first of June.
TODAY = date(2026, 6, 1)
REASON = "complaints about hot lots"

CORRECTION = """
[[correction]]
method = "rapid sensor"
characteristic = "heat"
version = 1
effective_from = {since}
against = "liquid chromatography"
reason = "reads low"
kind = "ratio"
offset = 0.0
slope = 0.92
offset_variance = 0.0
slope_variance = 0.0004
covariance = 0.0
degrees_of_freedom = 39
residual_sd = 0.05
lowest = 20000.0
highest = 60000.0
lots = 40
"""


FIGURES = """
[[method]]
method = "rapid sensor"
characteristic = "heat"
standing = "routine"
standard_uncertainty = 0.01
repeatability = 0.01
reading_unit = "µmol/L"
quantification_limit = 0.5
range_upper = 35.0
screening = true
factors = {{ total = {factor} }}
"""


@pytest.fixture
def alone(lone_file, tmp_path):
    """Measured lots with decisions on them, and the computer's user."""
    with Store.open(shutil.copy(lone_file, tmp_path / "lots.db")) as store:
        yield store


@pytest.fixture(scope="module")
def staffed_file(stocked_file, tmp_path_factory):
    path = tmp_path_factory.mktemp("staffed") / "lots.db"
    with Store.open(shutil.copy(stocked_file, path)) as store:
        enter(store, "petra", "jonas")
    return path


@pytest.fixture
def staffed(staffed_file, tmp_path):
    """The same lots, and people of several roles."""
    with Store.open(shutil.copy(staffed_file, tmp_path / "lots.db")) as store:
        yield store


def propose(store, text, *, by=None):
    """Have a file bring it; from Ines, who approves no specification, where there are people."""
    by = by or (ME if store.people.alone else ines(store))
    store.receive_bytes("proposal.toml", text.encode(), by=by)


def second(small_sources, *, since=TODAY, upper="36000.0"):
    """The next version of the small store's specification."""
    text = small_sources["catalogue.toml"]
    return (
        text[text.index("[[specification]]") :]
        .replace("version = 1", "version = 2")
        .replace("2026-01-01", since.isoformat())
        .replace("upper = 60000.0", f"upper = {upper}")
    )


def seen(store, key=SECOND, *, reason=REASON, since=None):
    """What a person who has looked at its effect would sign."""
    look = store.approvals.look(key, since=since)
    return Approving(key=key, seen=look.effect.fingerprint, reason=reason, since=since)


def versions(store):
    return [one.version for one in store.catalogue().specifications if one.material == MATERIAL]


def test_a_received_specification_judges_nothing_until_it_is_approved(alone, small_sources):
    before = alone.verdict("NEW").recommendation
    propose(alone, second(small_sources, upper="31000.0", since=date(2026, 1, 1)))

    assert alone.verdict("NEW").recommendation == before
    assert versions(alone) == [1]
    assert [one.subject for one in alone.approvals.proposals()] == [
        "specification 2 of cayenne powder"
    ]


def test_a_material_whose_first_specification_waits_holds_its_lots_and_says_why(alone):
    propose(
        alone,
        '[[specification]]\nmaterial = "paprika"\nversion = 1\neffective_from = 2026-01-01\n'
        'reason = "first"\n[[specification.line]]\ncharacteristic = "moisture"\nupper = 11.0\n',
    )

    judged = alone.verdict("PAPRIKA")

    assert (judged.recommendation, judged.specification.version) == ("hold", 0)
    assert judged.sentence == (
        "Hold: the specification of paprika waits for its approval, so there is nothing to judge"
        " the lot by."
    )


def test_the_effect_names_the_lots_that_wait_and_those_that_were_released(alone, small_sources):
    propose(alone, second(small_sources, since=date(2026, 1, 1)))

    effect = alone.approvals.look(SECOND).effect

    moved = {one.lot: (one.state, one.counts, one.now, one.then) for one in effect.moved}
    assert moved["NEW"] == ("waiting", True, "accept", "hold")
    assert moved["UNCOUNTED"] == ("released", True, "accept", "reject")
    assert "lots waiting would be judged otherwise: " in effect.sentences[0]
    assert (
        "lots released would be judged otherwise: MILD (accept, then hold)" in (effect.sentences[1])
    )


def test_what_is_in_force_from_a_later_day_would_have_changed_lots_but_changes_none(
    alone, small_sources
):
    propose(alone, second(small_sources))

    effect = alone.approvals.look(SECOND).effect

    assert effect.moved
    assert not any(one.counts for one in effect.moved)
    assert "received before its day would have been" in effect.sentences[0]


def test_an_approval_without_a_look_at_its_effect_is_refused(alone, small_sources):
    propose(alone, second(small_sources))
    blind = Approving(key=SECOND, seen="", reason=REASON)

    with pytest.raises(SignatureRefused, match="nobody has looked at its effect") as refused:
        alone.approvals.approve(blind, by=ME)

    assert refused.value.reason_typed == REASON
    assert versions(alone) == [1]


def test_an_approval_is_refused_when_its_effect_is_another_by_now(
    alone, small_sources, source_file
):
    propose(alone, second(small_sources, since=date(2026, 1, 1)))
    wanted = seen(alone)
    rows = [f"NEW,{bag},1,2026-03-12 09:0{bag}:00,0.1,10,10,9.9,µmol/L" for bag in (7, 8, 9)]
    alone.receive_bytes("more.csv", source_file("sensor", *rows), by=ME)

    with pytest.raises(SignatureRefused, match="another than the one that was shown"):
        alone.approvals.approve(wanted, by=ME)


def test_an_approval_that_changes_nothing_is_refused(alone, small_sources):
    propose(alone, second(small_sources, upper="60000.0"))

    with pytest.raises(SignatureRefused, match="it changes nothing of version 1"):
        alone.approvals.approve(seen(alone), by=ME)


@pytest.mark.parametrize("reason", [".", " ", "ok"])
def test_an_approval_with_a_full_stop_for_a_reason_is_refused(alone, small_sources, reason):
    propose(alone, second(small_sources))

    with pytest.raises(SignatureRefused, match="has no reason"):
        alone.approvals.approve(seen(alone, reason=reason), by=ME)


def test_nobody_alone_puts_a_specification_in_force_from_a_day_that_is_past(alone, small_sources):
    propose(alone, second(small_sources, since=TODAY - timedelta(days=1)))

    with pytest.raises(SignatureRefused, match="back-date a specification needs a second person"):
        alone.approvals.approve(seen(alone), by=ME)

    assert versions(alone) == [1]


def test_a_proposal_whose_day_is_past_can_be_approved_from_today_on(alone, small_sources):
    propose(alone, second(small_sources, since=date(2026, 1, 1)))

    (done,) = alone.approvals.approve(seen(alone, since=TODAY), by=ME)

    assert done.complete
    approval = alone.approvals.of_specification(MATERIAL, 2)
    assert approval.effective_from == TODAY
    assert alone.verdict("NEW").specification.version == 1


def test_an_approval_by_one_person_is_marked_and_keeps_its_own_time(alone, small_sources):
    propose(alone, second(small_sources, since=TODAY + timedelta(days=30)))

    (done,) = alone.approvals.approve(seen(alone), by=ME)

    approval = alone.approvals.of_specification(MATERIAL, 2)
    assert (approval.how, approval.one_person) == ("signed", True)
    assert approval.approved_at == done.signatures[0].signed_at
    assert approval.approved_by == MY_NAME
    assert approval.reason == REASON
    newest = alone.catalogue().specifications[-1]
    assert (newest.version, newest.approved_by) == (2, MY_NAME)
    assert alone.verify().ok


def test_back_dating_counts_once_a_second_person_has_signed_it(staffed, small_sources):
    since = date(2026, 1, 1)
    propose(staffed, second(small_sources, since=since))

    (waits,) = staffed.approvals.approve(seen(staffed), by=signed(staffed, "petra"))
    before = versions(staffed)
    (done,) = staffed.signing.sign(waits.request, by=mara(staffed))

    assert (waits.deed, waits.state) == ("back-date a specification", "waiting")
    assert before == [1]
    assert done.complete
    assert versions(staffed) == [1, 2]
    assert staffed.verdict("NEW").specification.version == 2
    approval = staffed.approvals.of_specification(MATERIAL, 2)
    assert approval.approved_by == "Petra Lind and Mara Quill"
    assert not approval.one_person
    assert staffed.verify().ok


def test_the_author_of_a_specification_does_not_approve_it_alone(staffed, small_sources):
    propose(staffed, second(small_sources), by=signed(staffed, "petra"))

    (waits,) = staffed.approvals.approve(seen(staffed), by=signed(staffed, "petra"))
    with pytest.raises(SignatureRefused, match="signed it as the first"):
        staffed.signing.sign(waits.request, by=signed(staffed, "petra"))

    assert waits.deed == "approve one's own specification"
    assert versions(staffed) == [1]


def test_the_author_cannot_sign_alone_what_another_asked_for(staffed, small_sources):
    propose(staffed, second(small_sources), by=signed(staffed, "petra"))
    asked = staffed.approvals.ask(seen(staffed), by=mara(staffed))

    with pytest.raises(SignatureRefused, match="Petra Lind proposed it"):
        staffed.signing.sign(asked.request, by=signed(staffed, "petra"))

    assert versions(staffed) == [1]


@pytest.mark.parametrize(
    "forged",
    [
        {"deed": "approve a specification"},
        {"about": {"changes": ["heat: upper 60 000 becomes 59 000."]}},
        {"subject": "specification 2 of paprika"},
        {"meaning": "reviewed"},
    ],
)
def test_a_request_that_does_not_say_what_it_would_do_is_not_done(staffed, small_sources, forged):
    propose(staffed, second(small_sources, since=date(2026, 1, 1)))
    honest = staffed.approvals.ask(seen(staffed), by=signed(staffed, "petra"))
    said = {"deed": honest.deed, "subject": honest.subject, "meaning": honest.meaning} | forged
    asked = staffed.signing.ask(
        Ask(
            **said | {"about": {**honest.about, **forged.get("about", {})}},
            rests_on=honest.rests_on,
            reason=REASON,
        ),
        by=signed(staffed, "petra"),
    )

    def both_sign():
        staffed.signing.sign(asked.request, by=signed(staffed, "petra"))
        staffed.signing.sign(asked.request, by=mara(staffed))

    with pytest.raises(SignatureRefused, match="does not say what it would do"):
        both_sign()

    assert versions(staffed) == [1]


def test_another_person_approves_with_one_signature(staffed, small_sources):
    propose(staffed, second(small_sources), by=signed(staffed, "petra"))

    (done,) = staffed.approvals.approve(seen(staffed), by=mara(staffed))

    assert (done.deed, done.state) == ("approve a specification", "complete")
    assert not staffed.approvals.of_specification(MATERIAL, 2).one_person


def test_purchasing_approves_no_specification(staffed, small_sources):
    propose(staffed, second(small_sources))

    with pytest.raises(NotAllowed, match="product developer or QA lead"):
        staffed.approvals.approve(seen(staffed), by=signed(staffed, "jonas"))


def test_a_version_approved_meanwhile_makes_what_waits_void(staffed, small_sources):
    propose(staffed, second(small_sources), by=signed(staffed, "petra"))
    third = second(small_sources, upper="43000.0").replace("version = 2", "version = 3")
    staffed.receive_bytes("third.toml", third.encode(), by=ines(staffed))
    (waits,) = staffed.approvals.approve(seen(staffed), by=signed(staffed, "petra"))
    newer = SECOND._replace(version=3)
    staffed.approvals.approve(seen(staffed, newer), by=mara(staffed))

    with pytest.raises(SignatureRefused, match="nothing was signed"):
        staffed.signing.sign(waits.request, by=mara(staffed))

    assert versions(staffed) == [1, 3]
    assert staffed.approvals.proposals() == ()
    with pytest.raises(SignatureRefused, match="version 3 was approved in the meantime"):
        staffed.approvals.approve(seen(staffed), by=mara(staffed))


def test_a_decision_keeps_the_version_that_it_was_signed_under(staffed, small_sources):
    propose(staffed, second(small_sources, since=date(2026, 1, 1)))
    (waits,) = staffed.approvals.approve(seen(staffed), by=signed(staffed, "petra"))
    staffed.signing.sign(waits.request, by=mara(staffed))

    kept = json.loads(staffed.dispositions("HOT")["evidence"].iloc[-1])["specification"]

    assert staffed.verdict("HOT").specification.version == 2
    assert kept["version"] == 1
    assert staffed.approvals.of_specification(MATERIAL, kept["version"]).how == "history"


def test_what_was_valid_before_the_first_day_is_history_and_only_once(tmp_path, small_sources):
    with Store.open(tmp_path / "lots.db") as store:
        store.receive_bytes("c.toml", small_sources["catalogue.toml"].encode(), by=ME)
        store.people.set_rule(CUT_OVER, "2026-03-01", by=ME, reason="first day")
        propose(store, second(small_sources, since=date(2026, 2, 1)))
        store.people.set_rule(CUT_OVER, "2026-04-01", by=ME, reason="another first day")

        (approval,) = store.approvals.every()

        assert (approval.how, approval.effective_from) == ("history", date(2026, 1, 1))
        assert approval.approved_by == "Mara Quill"
        assert versions(store) == [1]
        assert store.verify().ok


def test_a_proposal_that_is_turned_down_waits_no_longer_and_stays_in_the_record(
    staffed, small_sources
):
    propose(staffed, second(small_sources), by=signed(staffed, "petra"))
    (waits,) = staffed.approvals.approve(seen(staffed), by=signed(staffed, "petra"))

    done = staffed.approvals.turn_down(SECOND, reason="too narrow", by=mara(staffed))

    assert (done.deed, done.meaning) == ("turn down a specification", "turned down")
    assert staffed.approvals.proposals() == ()
    assert staffed.catalogue().proposed == ()
    (kept,) = staffed.approvals.turned_down(kind="specification", name=MATERIAL)
    assert (kept.key, kept.turned_down_by, kept.reason) == (SECOND, "Mara Quill", "too narrow")
    assert staffed.signing.one(waits.request).ended_why == "it was turned down"
    assert "turned down a proposal" in staffed.audit(done.subject)["action"].tolist()
    assert staffed.verify().ok
    with pytest.raises(UnknownName):
        staffed.approvals.look(SECOND)


def test_a_version_that_was_turned_down_does_not_come_back_with_its_file(staffed, small_sources):
    propose(staffed, second(small_sources))
    staffed.approvals.turn_down(SECOND, reason="too narrow", by=mara(staffed))

    staffed.receive_bytes("again.toml", f"{second(small_sources)}\n".encode(), by=ines(staffed))

    assert staffed.approvals.proposals() == ()
    assert {one.version for one in staffed.approvals.received()} == {1, 2}


def test_a_proposal_is_turned_down_with_a_reason_by_somebody_who_may_approve_it(
    staffed, small_sources
):
    propose(staffed, second(small_sources))

    with pytest.raises(NotAllowed, match="product developer or QA lead"):
        staffed.approvals.turn_down(SECOND, reason="too narrow", by=ines(staffed))
    with pytest.raises(SignatureRefused, match="no reason"):
        staffed.approvals.turn_down(SECOND, reason=".", by=mara(staffed))

    assert len(staffed.approvals.proposals()) == 1


def test_a_correction_judges_nothing_until_it_is_adopted(alone):
    before = alone.verdict("NEW")
    propose(alone, CORRECTION.format(since=TODAY.isoformat()))
    (proposal,) = alone.approvals.proposals()

    (done,) = alone.approvals.approve(seen(alone, proposal.key), by=ME)

    assert alone.verdict("NEW") == before
    assert (done.deed, done.meaning) == ("adopt a correction of a method", "adopted")
    assert [one.effective_from for one in alone.catalogue().corrections] == [TODAY]


def uncertainty(store):
    return store.catalogue().method("rapid sensor", "heat").standard_uncertainty


def test_changed_figures_of_a_method_count_for_nothing_until_they_are_adopted(staffed, source_file):
    stated = uncertainty(staffed)
    propose(staffed, FIGURES.format(factor="16.0"))
    (proposal,) = staffed.approvals.proposals()
    waited = uncertainty(staffed)
    reading = "NEW,7,1,2026-03-12 10:00:00,0.1,10,10,8.1,µmol/L"
    staffed.receive_bytes("sensor.csv", source_file("sensor", reading), by=ines(staffed))
    under = staffed.results("NEW").query("method == 'rapid sensor'")["method_version"]
    measured = staffed.verdict("NEW")

    (done,) = staffed.approvals.approve(seen(staffed, proposal.key), by=ines(staffed))

    assert (stated, waited, uncertainty(staffed)) == (0.05, 0.05, 0.01)
    assert set(under) == {1}
    assert "standard uncertainty: 0.05 to 0.01" in proposal.changed
    assert (done.deed, done.meaning) == ("adopt figures of a method", "adopted")
    assert staffed.verdict("NEW").lines == measured.lines
    assert staffed.verify().ok


def test_figures_that_wait_are_known_and_those_turned_down_may_be_proposed_again(staffed):
    text = FIGURES.format(factor="16.0")
    propose(staffed, text)
    again = staffed.receive_bytes("again.toml", f"{text}\n".encode(), by=ines(staffed))
    (waits,) = staffed.approvals.proposals()
    with pytest.raises(NotAllowed, match="QA officer or QA lead"):
        staffed.approvals.turn_down(waits.key, reason="too good", by=signed(staffed, "jonas"))
    staffed.approvals.turn_down(waits.key, reason="too good", by=ines(staffed))
    left = staffed.approvals.proposals()
    propose(staffed, f"{text}\n\n")

    assert again.stored == 0
    assert left == ()
    assert [one.key.version for one in staffed.approvals.proposals()] == [3]


def test_figures_of_a_method_count_from_their_adoption_and_from_no_other_day(staffed):
    propose(staffed, FIGURES.format(factor="16.0"))
    (waits,) = staffed.approvals.proposals()

    with pytest.raises(SignatureRefused, match="from their approval on"):
        staffed.approvals.look(waits.key, since=date(2026, 1, 1))


def test_nobody_alone_adopts_a_correction_from_a_day_that_is_past(alone):
    propose(alone, CORRECTION.format(since="2026-03-01"))
    (proposal,) = alone.approvals.proposals()

    with pytest.raises(SignatureRefused, match="needs a second person"):
        alone.approvals.approve(seen(alone, proposal.key), by=ME)


def test_a_version_that_nobody_proposed_cannot_be_approved(alone):
    with pytest.raises(UnknownName, match="version 7 of cayenne powder"):
        alone.approvals.look(SECOND._replace(version=7))


def test_an_approval_judges_the_lots_once_under_the_lock(staffed, small_sources, monkeypatch):
    propose(staffed, second(small_sources), by=signed(staffed, "petra"))
    wanted = seen(staffed)
    counted = mock.Mock(side_effect=effects.effect)
    monkeypatch.setattr(effects, "effect", counted)

    (waits,) = staffed.approvals.approve(wanted, by=signed(staffed, "petra"))
    (done,) = staffed.signing.sign(waits.request, by=mara(staffed))

    assert done.complete
    assert counted.call_count == 2, "once where it is asked, once where it comes into force"


def test_of_two_versions_approved_together_the_second_is_judged_after_the_first(
    staffed, small_sources
):
    past = date(2026, 1, 1)
    propose(staffed, second(small_sources, since=past))
    third = second(small_sources, since=past, upper="43000.0").replace("version = 2", "version = 3")
    staffed.receive_bytes("third.toml", third.encode(), by=ines(staffed))
    both = [seen(staffed, SECOND._replace(version=version)) for version in (2, 3)]

    with pytest.raises(SignatureRefused, match="its effect is another"):
        staffed.approvals.approve(*both, by=signed(staffed, "petra"), second=mara(staffed))

    assert versions(staffed) == [1]


def test_several_proposals_are_approved_with_one_signature_or_none(alone, small_sources):
    propose(alone, second(small_sources))
    propose_correction = CORRECTION.format(since=TODAY.isoformat())
    alone.receive_bytes("correction.toml", propose_correction.encode(), by=ME)
    keys = [one.key for one in alone.approvals.proposals()]
    good = [seen(alone, key) for key in keys]
    spoiled = [good[0], Approving(key=keys[1], seen="", reason=REASON)]

    with pytest.raises(SignatureRefused):
        alone.approvals.approve(*spoiled, by=ME)
    untouched = len(alone.approvals.proposals())
    done = alone.approvals.approve(*good, by=ME)

    assert untouched == 2
    assert all(one.complete for one in done)
    assert alone.approvals.proposals() == ()
