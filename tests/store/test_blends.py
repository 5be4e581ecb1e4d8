"""A blend from its draft to the lot it became, and what its assay says of the prediction."""

import json
import math
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date
from typing import Any, Final

import duckdb
import numpy as np
import pytest

from spc.blend.outlook.learning import learned_bias
from spc.errors import InvalidInput, NotKnown, SignatureRefused, UnknownName
from spc.store import Store, StreamKey, verification
from spc.store.blends.drafts import Draft, Portion, Predicted
from spc.store.file import migrations
from tests.staff import ME, ines, mara

PREDICTED = Predicted(
    characteristic="heat", basis="as-is", mean=45_000.0, standard_deviation=1_800.0
)
DRAFT = Draft(
    name="medium for March",
    material="cayenne powder",
    batch_kg=500.0,
    portions=(Portion(lot="HOT", kg=110.0), Portion(lot="MILD", kg=400.0, bags=16)),
    predicted=(PREDICTED,),
    target={"heat": {"lower": 42_000, "upper": 48_000}},
    odds=0.93,
    cost=2_260.0,
    currency="EUR",
    note="first of the year",
)
MILD_ONLY = replace(DRAFT, name="mild", portions=(Portion(lot="MILD", kg=500.0),), predicted=())
WEIGHED: Final = {"HOT": 108.5, "MILD": 400.0}


@pytest.fixture(scope="module")
def files(stocked_file, tmp_path_factory):
    """Stores in which the same blend came to each of its states, closed, with its key."""
    folder = tmp_path_factory.mktemp("states")
    found = {"stocked": (stocked_file, "")}

    def grown(state, before, act):
        path, blend = found[before]
        path = shutil.copy(path, folder / f"{state}.db")
        with Store.open(path) as store:
            found[state] = (path, act(store, blend) or blend)

    grown("house", "stocked", introduced)
    grown("a draft", "house", lambda store, _: store.blends.save(DRAFT, by=mara(store)))
    grown("mild", "house", lambda store, _: store.blends.save(MILD_ONLY, by=mara(store)))
    grown("approved", "a draft", lambda store, blend: STEPS["approved"](store, blend) and "")
    grown("issued", "approved", lambda store, blend: STEPS["issued"](store, blend) and "")
    grown("made", "issued", lambda store, blend: STEPS["made"](store, blend) and "")
    grown("cancelled", "a draft", STEPS["cancelled"])
    return found


@pytest.fixture(scope="module")
def kept(files, tmp_path_factory):
    """A store and its blend in a state, for what is refused and for reading only."""
    folder, opened = tmp_path_factory.mktemp("kept"), {}

    def made(state):
        path, blend = files[state]
        if state not in opened:
            opened[state] = Store.open(shutil.copy(path, folder / f"{state}.db"))
        return opened[state], blend

    yield made
    for store in opened.values():
        store.close()


@pytest.fixture
def at(files, tmp_path):
    """A store and its blend in a state, to write to."""
    opened = []

    def made(state):
        path, blend = files[state]
        opened.append(Store.open(shutil.copy(path, tmp_path / "lots.db")))
        return opened[0], blend

    yield made
    for store in opened:
        store.close()


@pytest.fixture
def house(at):
    """The stocked store, in whose catalogue the house itself blends, to write to."""
    return at("house")[0]


def introduced(store, _blend):
    store.blends.introduce(country="Middle Vale", by=mara(store))


def _beside(store, blend):
    """The second person, where a lot was let in for a use and a time."""
    return ines(store) if {"HOT", "ENDING"} & {*store.blends.one(blend).draft.lots} else None


STEPS = {
    "approved": lambda store, blend: store.blends.approve(
        blend, by=mara(store), second=_beside(store, blend)
    ),
    "issued": lambda store, blend: store.blends.issue(blend, by=ines(store)),
    "made": lambda store, blend: store.blends.make(
        blend, lot="BLEND-1", weighed=WEIGHED, by=mara(store)
    ),
    "cancelled": lambda store, blend: store.blends.cancel(blend, reason="no need", by=mara(store)),
}


def made(store, draft, *, lot, **more):
    """Bring a blend from its draft to its lot, as weighed out exactly."""
    blend = store.blends.save(draft, by=mara(store))
    STEPS["approved"](store, blend)
    STEPS["issued"](store, blend)
    weighed = {portion.lot: portion.kg for portion in draft.portions}
    store.blends.make(blend, lot=lot, weighed=weighed, by=mara(store), **more)
    return blend


def measure(store, source_file, heats, *, toxin=""):
    """Receive assays of lots: three bags on the sensor, and if asked moisture and toxin."""
    files = {
        "sensor": [
            f"{lot},{bag},1,2026-06-02 08:0{bag}:00,0.1,10,10,{heat},µmol/L"
            for lot, heat in heats.items()
            for bag in (1, 2, 3)
        ]
    }
    if toxin:
        files["moisture"] = [f"{lot};1;02.06.2026;11:01;9,0" for lot in heats]
        files["laboratory"] = [f"{lot},2026-06-03,,,{toxin}," for lot in heats]
    for source, rows in files.items():
        store.receive_bytes(f"{source} new.csv", source_file(source, *rows), by=ines(store))


def stock(store, lot):
    return store.blends.stock(lots=[lot]).lots.iloc[0]


def refusal(store, act):
    """What is said against an act; nothing of it may be written."""
    before = store.revision()
    with pytest.raises((InvalidInput, UnknownName)) as caught:
        act()
    assert store.revision() == before
    assert caught.value.remedy
    return caught.value


# Saving and comparing


def test_a_draft_is_kept_as_it_was_saved(kept):
    store, blend = kept("a draft")

    found = store.blends.one(blend)

    assert found.draft == DRAFT
    assert (found.status, found.sheet, found.lot) == ("draft", "", "")
    assert found.drafted_by == "Mara Quill"
    assert set(found.evidence) == {"HOT", "MILD"}
    assert found.evidence["MILD"]["heat"]["method"] == "rapid sensor"


def test_a_solver_s_own_kinds_of_numbers_are_kept_as_plain_ones(house):
    solved: Any = {"kg": np.float64(25.0), "bags": np.int64(1)}
    portion = Portion(lot="MILD", **solved)
    blend = house.blends.save(replace(MILD_ONLY, portions=(portion,)), by=mara(house))

    assert house.blends.one(blend).draft.portions == (Portion(lot="MILD", kg=25.0, bags=1),)


def test_drafts_are_compared_by_what_they_cost_take_and_promise(at):
    house, first = at("a draft")

    second = house.blends.save(
        replace(DRAFT, name="dearer", cost=2_550.0, odds=0.99), by=mara(house)
    )

    every = house.blends.every(status="draft").set_index("blend")
    assert every.loc[[first, second], "cost_per_kg"].tolist() == [2_260 / 510, 5.0]
    assert every.loc[[first, second], "odds"].tolist() == [0.93, 0.99]
    assert house.blends.one(first).fingerprint == house.blends.one(second).fingerprint
    portions = house.blends.portions([first, second])
    assert portions.groupby("blend")["share"].sum().tolist() == [pytest.approx(1.0)] * 2
    assert house.blends.predicted([first])["mean"].tolist() == [45_000.0]


def test_no_blend_is_an_empty_table_and_not_a_missing_one(kept):
    house, _ = kept("house")

    assert house.blends.every().empty
    assert house.blends.against_measured().empty
    assert "cost_per_kg" in house.blends.every()
    assert "zeta" in house.blends.against_measured()


def changed(**more):
    return replace(DRAFT, **more)


BAD_DRAFTS = {
    "no name": (changed(name=" "), "the draft has no name"),
    "no batch": (changed(batch_kg=0.0), "a batch of 0 kg cannot be made"),
    "nothing in it": (changed(portions=()), "takes nothing from any lot"),
    "a lot twice": (
        changed(portions=(Portion(lot="MILD", kg=1.0), Portion(lot="MILD", kg=2.0))),
        "lot MILD stands in the recipe twice",
    ),
    "a negative portion": (
        changed(portions=(Portion(lot="MILD", kg=-1.0),)),
        "-1 kg cannot be weighed",
    ),
    "negative bags": (
        changed(portions=(Portion(lot="MILD", kg=1.0, bags=-1),)),
        "-1 bags of lot MILD cannot be taken",
    ),
    "odds above one": (changed(odds=1.2), "odds of 1.2 are no chance"),
    "odds that are no number": (changed(odds=math.nan), "odds of nan are no chance"),
    "an endless cost": (changed(cost=math.inf), "a cost of inf is no amount"),
    "a target that cannot be kept": (
        changed(target={"heat": math.nan}),
        "what was asked of it cannot be kept: NaN is no number",
    ),
    "a target of things": (changed(target={"heat": date}), "what was asked of it cannot be kept"),
    "a prediction that is no number": (
        changed(predicted=(replace(PREDICTED, mean=math.nan),)),
        "heat is predicted as nan",
    ),
    "a prediction twice": (changed(predicted=(PREDICTED, PREDICTED)), "heat is predicted twice"),
    "a prediction of what nobody measures": (
        changed(predicted=(replace(PREDICTED, characteristic="heet"),)),
        "no characteristic 'heet'",
    ),
    "a material without a specification": (
        changed(material="paprika"),
        "no specification 'paprika'",
    ),
    "an unknown lot": (changed(portions=(Portion(lot="MILT", kg=1.0),)), "no lot 'MILT'"),
    "more than there is": (
        changed(portions=(Portion(lot="HOT", kg=300.0),)),
        "Of lot HOT 300 kg are planned, but 250 kg can be had",
    ),
    "a lot nobody counted": (
        changed(portions=(Portion(lot="UNCOUNTED", kg=1.0),)),
        "Nobody knows how much of lot UNCOUNTED is there",
    ),
}


@pytest.mark.parametrize("what", BAD_DRAFTS)
def test_a_draft_that_cannot_be_followed_is_refused_with_the_reason(kept, what):
    (house, _), (draft, sentence) = kept("house"), BAD_DRAFTS[what]

    problem = refusal(house, lambda: house.blends.save(draft, by=mara(house)))

    assert sentence in problem.what


@pytest.mark.parametrize(
    ("lot", "why"),
    [
        ("TOXIC", "the safety line aflatoxin B1 is not conforming, and mixing does not make it"),
        ("UNTESTED", "the safety line aflatoxin B1 has no result"),
        ("REJECTED", "rejected"),
        ("HELD", "on hold"),
        ("NEW", "not decided yet"),
    ],
)
def test_a_barred_lot_cannot_be_forced_into_a_recipe(kept, lot, why):
    house, _ = kept("house")
    draft = changed(portions=(Portion(lot="MILD", kg=495.0), Portion(lot=lot, kg=5.0)))

    problem = refusal(house, lambda: house.blends.save(draft, by=mara(house)))

    assert f"Lot {lot} may not be used: {why}" in problem.what


# Approving


def test_a_draft_is_approved_by_a_person_of_the_register_in_a_role(at):
    house, blend = at("mild")

    with pytest.raises(NotKnown, match="plain text is no proof"):
        house.blends.approve(blend, by="Mara Quill")
    house.blends.approve(blend, by=mara(house))

    assert house.blends.one(blend).status == "approved"
    event = house.blends.events(blend).iloc[0]
    assert (event["what"], event["signed_by"], event["role"]) == (
        "approved",
        "Mara Quill",
        "QA lead",
    )


def test_a_lot_let_in_for_a_use_and_a_time_needs_a_second_person(at):
    house, blend = at("a draft")

    with pytest.raises(SignatureRefused, match="signed it as the first"):
        house.blends.approve(blend, by=mara(house), second=mara(house))
    waits = house.blends.approve(blend, by=mara(house))
    before = house.blends.one(blend).status
    (done,) = house.signing.sign(waits.request, by=ines(house))

    assert (waits.deed, waits.state) == ("approve a blend of limited lots", "waiting")
    assert before == "draft"
    assert done.complete
    assert house.blends.one(blend).status == "approved"
    event = house.blends.events(blend).iloc[-1]
    assert (event["signed_by"], event["second_person"]) == ("Mara Quill", "Ines Valbo")


def test_nobody_drafts_approves_and_issues_a_blend_alone(house):
    blend = house.blends.save(MILD_ONLY, by=mara(house))
    house.blends.approve(blend, by=mara(house))

    waits = house.blends.issue(blend, by=mara(house))
    set_aside = stock(house, "MILD")["reserved_kg"]
    (done,) = house.signing.sign(waits.request, by=ines(house))

    assert (waits.deed, waits.state) == ("issue one's own blend", "waiting")
    assert set_aside == 0.0
    assert done.complete
    assert house.blends.one(blend).sheet == "2026-0001"
    event = house.blends.events(blend).iloc[-1]
    assert (event["signed_by"], event["second_person"]) == ("Mara Quill", "Ines Valbo")
    assert house.verify().ok


def test_the_drafter_cannot_sign_alone_the_issue_that_another_asked_for(house):
    blend = house.blends.save(MILD_ONLY, by=mara(house))
    house.blends.approve(blend, by=mara(house))
    asked = house.blends.ask_issue(blend, by=ines(house))

    with pytest.raises(SignatureRefused, match="Mara Quill drafted it"):
        house.signing.sign(asked.request, by=mara(house))

    assert house.blends.one(blend).status == "approved"


def test_an_issue_that_waits_is_void_when_a_lot_is_barred_meanwhile(house):
    blend = house.blends.save(
        replace(MILD_ONLY, portions=(Portion(lot="MILD", kg=400.0),)), by=mara(house)
    )
    house.blends.approve(blend, by=mara(house))
    waits = house.blends.issue(blend, by=mara(house))
    house.blends.consume("MILD", kg=700.0, by=mara(house), reason="sold")

    with pytest.raises(SignatureRefused, match="400 kg are planned, but 300 kg can be had"):
        house.signing.sign(waits.request, by=ines(house))

    assert house.signing.one(waits.request).state == "void"
    assert house.blends.one(blend).status == "approved"


def test_an_approval_is_refused_when_a_lot_was_measured_anew(at, source_file):
    house, blend = at("mild")
    rows = ["MILD,9,1,2026-03-20 10:00:00,0.1,10,10,9.9,µmol/L"]
    house.receive_bytes("more.csv", source_file("sensor", *rows), by=ines(house))

    def late():
        house.blends.approve(
            blend,
            by=mara(house),
        )

    told = refusal(house, late).what
    assert re.match(
        r"The heat of lot MILD was 35.\d00 SHU as-is by rapid sensor when it was drafted, and is"
        r" 38.\d00 SHU as-is by rapid sensor now\.$",
        told,
    )
    assert house.blends.against(blend) == [told]


def test_an_approval_is_refused_when_more_is_known_of_a_lot(house):
    draft = replace(MILD_ONLY, portions=(Portion(lot="ENDING", kg=100.0),))
    blend = house.blends.save(draft, by=mara(house))
    house.receive_bytes("colour2.csv", b"Lot,Read,ASTA\nENDING,2026-03-15,60.0\n", by=ines(house))

    assert house.blends.against(blend) == [
        "The colour of lot ENDING was not measured when it was drafted, and is 60.0 ASTA units by"
        " colorimetry now."
    ]


def test_results_that_leave_the_lot_mean_alone_do_not_stop_an_approval(at, source_file):
    house, blend = at("mild")
    rows = ["MILD,2026-03-20,,,0.6,"]
    house.receive_bytes("toxins2.csv", source_file("laboratory", *rows), by=ines(house))
    other = ["HELD,9,1,2026-03-20 10:00:00,0.1,10,10,9.9,µmol/L"]
    house.receive_bytes("more.csv", source_file("sensor", *other), by=ines(house))

    house.blends.approve(
        blend,
        by=mara(house),
    )

    assert house.blends.one(blend).status == "approved"


def test_an_approval_is_refused_when_a_lot_was_barred_since(at):
    house, blend = at("a draft")
    house.dispose("HOT", "rejected", by=mara(house), reason="taint")

    def late():
        house.blends.approve(blend, by=mara(house), second=ines(house))

    assert refusal(house, late).what == "Lot HOT may not be used: rejected."


def test_an_approval_is_refused_when_the_stock_is_gone(at):
    house, blend = at("a draft")
    house.blends.consume("MILD", kg=700.0, by=mara(house), reason="sold")

    def late():
        house.blends.approve(blend, by=mara(house), second=ines(house))

    told = refusal(house, late)
    assert told.what == "Of lot MILD 400 kg are planned, but 300 kg can be had."
    assert told.where == "blend medium for March"


# Issuing and giving up


def test_an_issue_sets_the_stock_aside_and_numbers_the_sheet(at):
    house, first = at("issued")
    second = house.blends.save(MILD_ONLY, by=mara(house))
    STEPS["approved"](house, second)

    house.blends.issue(second, by=ines(house))

    assert (house.blends.one(first).sheet, house.blends.one(second).sheet) == (
        "2026-0001",
        "2026-0002",
    )
    mild = stock(house, "MILD")
    assert (mild["reserved_kg"], mild["available_kg"], mild["consumed_kg"]) == (900.0, 100.0, 0.0)
    assert (mild["bags"], mild["opened_kg"]) == (4, 0.0)


def test_what_is_set_aside_is_not_promised_twice(at):
    house, first = at("approved")
    much = replace(MILD_ONLY, portions=(Portion(lot="MILD", kg=700.0),))
    waiting = house.blends.save(much, by=mara(house))
    STEPS["approved"](house, waiting)
    house.blends.issue(first, by=ines(house))

    problem = refusal(house, lambda: house.blends.issue(waiting, by=ines(house)))

    assert problem.what == "Of lot MILD 700 kg are planned, but 600 kg can be had."


def test_what_is_set_aside_cannot_be_used_for_anything_else(kept):
    house, _ = kept("issued")

    def too_much():
        house.blends.consume("MILD", kg=700.0, by=mara(house), reason="sold")

    told = refusal(house, too_much).what.replace("\N{NARROW NO-BREAK SPACE}", "")
    assert "600 kg can be had (1000 kg there, 400 kg set aside for blends)" in told


def test_a_count_below_what_is_set_aside_asks_for_the_blend_to_be_given_up(kept):
    house, _ = kept("issued")

    def short():
        house.blends.count("MILD", bags=10, bag_kg=25.0, by=mara(house), reason="stock-taking")

    told = refusal(house, short)
    assert told.what == "250 kg were counted, less than the 400 kg set aside for blends."


def test_a_lot_wholly_set_aside_is_no_longer_offered_but_does_not_stop_its_own_blend(house):
    every = replace(MILD_ONLY, portions=(Portion(lot="MILD", kg=1000.0),))
    blend = house.blends.save(every, by=mara(house))
    STEPS["approved"](house, blend)
    house.blends.issue(blend, by=ines(house))

    assert stock(house, "MILD")["barred"] == "all that is left of it is set aside for blends"
    assert house.blends.against(blend) == []


def test_a_blend_given_up_gives_its_stock_back(at):
    house, blend = at("issued")
    house.blends.cancel(blend, by=mara(house), reason="mixer broken")

    assert house.blends.one(blend).status == "cancelled"
    assert stock(house, "MILD")[["reserved_kg", "available_kg"]].tolist() == [0.0, 1000.0]
    assert house.blends.moves("MILD")["kind"].tolist() == ["reserved", "released"]
    assert house.blends.moves("MILD")["name"].tolist() == ["medium for March"] * 2


def test_a_blend_is_given_up_for_a_reason(kept):
    house, blend = kept("issued")

    problem = refusal(house, lambda: house.blends.cancel(blend, reason="", by=mara(house)))

    assert problem.what == "no reason is given."


def test_the_store_does_not_invent_who_blends(stocked):
    blend = stocked.blends.save(MILD_ONLY, by=mara(stocked))
    stocked.blends.approve(
        blend,
        by=mara(stocked),
    )

    problem = refusal(stocked, lambda: stocked.blends.issue(blend, by=ines(stocked)))
    stocked.blends.introduce(country="Middle Vale", by=mara(stocked))
    stocked.blends.issue(blend, by=ines(stocked))

    assert problem.what == (
        "the catalogue has no supplier 'own blend', in whose name the blend would stand."
    )
    assert stocked.blends.one(blend).status == "issued"
    assert stocked.verify().faults == ()


OUT_OF_TURN = [
    ("a draft", "issued"),
    ("a draft", "made"),
    ("approved", "approved"),
    ("approved", "made"),
    ("issued", "issued"),
    ("made", "cancelled"),
    ("made", "made"),
    ("cancelled", "approved"),
]


@pytest.mark.parametrize(("state", "step"), OUT_OF_TURN)
def test_a_step_out_of_turn_is_refused(kept, state, step):
    house, blend = kept(state)

    problem = refusal(house, lambda: STEPS[step](house, blend))

    assert problem.what == f"it is {state} and cannot be {step}."


def test_a_blend_that_is_not_in_the_store_is_refused_by_name(kept):
    house, _ = kept("house")

    with pytest.raises(UnknownName, match="no blend 'nowhere'"):
        house.blends.issue("nowhere", by=ines(house))


# Making


def test_a_made_blend_consumes_what_was_weighed_and_frees_the_rest(kept):
    house, _ = kept("made")

    hot, mild = stock(house, "HOT"), stock(house, "MILD")
    assert (hot["consumed_kg"], hot["reserved_kg"], hot["available_kg"]) == (108.5, 0.0, 141.5)
    assert (hot["bags"], hot["opened_kg"]) == (5, 16.5)
    assert (mild["consumed_kg"], mild["available_kg"]) == (400.0, 600.0)
    assert house.blends.moves("HOT")["kind"].tolist() == ["reserved", "released", "consumed"]


def test_a_made_blend_is_a_lot_like_any_other(at):
    house, blend = at("issued")

    packed = {"packages": 20, "package_kg": 25.0}
    house.blends.make(blend, lot="BLEND-1", weighed=WEIGHED, **packed, by=mara(house))

    lot = house.lot("BLEND-1")
    assert (lot.material, lot.supplier, lot.supplier_lot) == (
        "cayenne powder",
        "own blend",
        "2026-0001",
    )
    assert (lot.packages, lot.package_kg, lot.harvest_year) == (20, 25.0, 2025)
    assert lot.received_at.date() == date(2026, 6, 1)
    assert lot.price_per_kg == pytest.approx((108.5 * 6.0 + 400.0 * 4.0) / 500.0)
    assert house.blends.one(blend).lot == "BLEND-1"
    assert stock(house, "BLEND-1")["origin"] == "Middle Vale"
    assert stock(house, "BLEND-1")["barred"] == (
        "the safety line aflatoxin B1 has no result that may decide; not decided yet"
    )


def test_a_made_blend_is_not_compared_with_what_suppliers_deliver(house, source_file):
    introduced(house, "")
    bought = house.compare.comparable("cayenne powder", "heat").lots
    made(house, DRAFT, lot="BLEND-1")
    measure(house, source_file, {"BLEND-1": 25.0})

    assert "own blend" in {key.supplier for key in house.stream_keys()}
    assert house.compare.comparable("cayenne powder", "heat").lots.equals(bought)


def test_the_record_of_making_is_kept_as_a_receipt_of_the_new_lot(kept):
    house, blend = kept("made")

    name, content = house.receipt_bytes(house.lot("BLEND-1").receipt)
    told = json.loads(content)
    assert name == "blend 2026-0001.json"
    assert (told["blend"], told["weighed_kg"], told["made_by"]) == (blend, WEIGHED, "Mara Quill")
    receipt = house.receipts().set_index("name").loc[name]
    assert (receipt["kind"], receipt["rows"], receipt["stored"]) == ("blend", 1, 1)


def test_harvest_and_price_are_left_open_where_the_parents_do_not_settle_them(house):
    both = replace(
        MILD_ONLY, portions=(Portion(lot="MILD", kg=100.0), Portion(lot="ENDING", kg=100.0))
    )
    made(house, both, lot="BLEND-1")

    lot = house.lot("BLEND-1")
    assert lot.harvest_year is None
    assert lot.packages is None
    assert lot.price_per_kg == pytest.approx(3.5)
    assert stock(house, "BLEND-1")["barred"].endswith("so count it first")


def test_a_blend_with_a_lot_of_unknown_price_has_none(house):
    house.blends.count("UNCOUNTED", bags=4, bag_kg=25.0, by=mara(house), reason="stock-taking")
    both = (Portion(lot="MILD", kg=50.0), Portion(lot="UNCOUNTED", kg=50.0))
    made(house, replace(MILD_ONLY, portions=both), lot="BLEND-1")

    lot = house.lot("BLEND-1")
    assert (lot.price_per_kg, lot.currency, lot.harvest_year) == (None, "", 2025)


def test_a_lot_that_was_left_out_in_the_end_is_no_parent(at):
    house, blend = at("issued")
    house.blends.make(blend, lot="BLEND-1", weighed={"HOT": 0.0, "MILD": 400.0}, by=mara(house))

    assert house.blends.parents("BLEND-1")["lot"].tolist() == ["MILD"]
    assert stock(house, "HOT")[["consumed_kg", "available_kg"]].tolist() == [0.0, 250.0]


BAD_MAKING: Final[dict[str, Any]] = {
    "a lot from elsewhere": (
        {"weighed": WEIGHED | {"ENDING": 1.0}},
        "ENDING is not on sheet 2026-0001",
    ),
    "a lot not weighed": ({"weighed": {"HOT": 110.0}}, "nothing is said of MILD"),
    "a negative weight": ({"weighed": {"HOT": -1.0, "MILD": 400.0}}, "-1 kg cannot be weighed"),
    "no number": ({"weighed": {"HOT": math.nan, "MILD": 400.0}}, "nan kg cannot be weighed"),
    "nothing at all": ({"weighed": {"HOT": 0.0, "MILD": 0.0}}, "nothing was weighed in"),
    "more than is there": (
        {"weighed": {"HOT": 251.0, "MILD": 400.0}},
        "251 kg were asked for, but 250 kg can be had",
    ),
    "no number of the lot": ({"lot": " "}, "no number of the new lot is given"),
    "a number that is taken": ({"lot": "NEW"}, "the number NEW is taken"),
    "more out than in": (
        {"packages": 60, "package_kg": 25.0},
        "60 packages of 25 kg are 1500 kg, but 508.5 kg were weighed in",
    ),
    "a negative count": ({"packages": -1, "package_kg": 25.0}, "-1 bags of 25.0 kg"),
    "a day ahead": ({"made_on": date(2026, 6, 2)}, "made on 2026-06-02, which lies ahead"),
    "a prediction of nothing known": (
        {"predicted": (replace(PREDICTED, characteristic="heet"),)},
        "no characteristic 'heet'",
    ),
}


@pytest.mark.parametrize("what", BAD_MAKING)
def test_a_record_of_making_that_cannot_be_true_is_refused(kept, what):
    (house, blend), (wrong, sentence) = kept("issued"), BAD_MAKING[what]
    record: Any = {"lot": "BLEND-1", "weighed": WEIGHED, "by": mara(house)} | wrong

    problem = refusal(house, lambda: house.blends.make(blend, **record))

    assert sentence in problem.what.replace("\N{NARROW NO-BREAK SPACE}", "")


def test_what_was_mixed_is_on_record_though_a_lot_was_barred_after_the_issue(at, source_file):
    house, blend = at("issued")
    late = source_file("laboratory", "MILD,2026-05-30,,,60,")
    (row,), came = (2,), house.receive_bytes("late.csv", late, by=ines(house))
    house.intake.confirm(came.receipt, [row], by=ines(house), reason="measured once more")

    warned = house.blends.against(blend)
    house.blends.make(blend, lot="BLEND-1", weighed=WEIGHED, by=mara(house))
    measure(house, source_file, {"BLEND-1": 8.0}, toxin="0.6")

    assert "Lot MILD may not be used: the safety line aflatoxin B1 is not conforming" in warned[0]
    assert house.verdict("BLEND-1").recommendation == "accept"
    assert stock(house, "BLEND-1")["barred"].startswith(
        "not decided yet; it holds lot MILD, of which the safety line aflatoxin B1 is not"
        " conforming, and mixing does not make it compliant"
    )


def test_a_held_row_with_far_too_much_of_a_poison_bars_its_lot_from_blends(at, source_file):
    """Sixty where the material shows half of one: perhaps a slip, but nobody mixes it meanwhile."""
    house, blend = at("issued")
    late = source_file("laboratory", "MILD,2026-05-30,,,60,")

    assert house.receive_bytes("late.csv", late, by=ines(house)).held == 1

    assert "aflatoxin B1" in house.blends.against(blend)[0]
    assert "held at intake" in house.blends.against(blend)[0]


# Parentage


@pytest.fixture(scope="module")
def twice_file(files, source_file, tmp_path_factory):
    """BLEND-1 of HOT and MILD, and BLEND-2 of BLEND-1 and MILD; closed."""
    path, blend = files["issued"]
    path = shutil.copy(path, tmp_path_factory.mktemp("twice") / "lots.db")
    weighed = {"HOT": 100.0, "MILD": 400.0}
    second = replace(
        MILD_ONLY, portions=(Portion(lot="BLEND-1", kg=50.0), Portion(lot="MILD", kg=150.0))
    )
    with Store.open(path) as store:
        store.blends.make(
            blend, lot="BLEND-1", weighed=weighed, packages=20, package_kg=25.0, by=mara(store)
        )
        measure(store, source_file, {"BLEND-1": 8.0}, toxin="0.7")
        store.dispose("BLEND-1", "accepted", by=mara(store), reason="conforms")
        made(store, second, lot="BLEND-2")
    return path


@pytest.fixture(scope="module")
def twice(twice_file, tmp_path_factory):
    """The store of two blends, for reading only."""
    path = tmp_path_factory.mktemp("twice-read") / "lots.db"
    with Store.open(shutil.copy(twice_file, path)) as store:
        yield store


def test_a_blend_names_what_went_into_it_and_a_lot_what_it_went_into(twice):
    parents, children = twice.blends.parents("BLEND-2"), twice.blends.children("MILD")

    assert dict(zip(parents["lot"], parents["kg"], strict=True)) == {"BLEND-1": 50.0, "MILD": 150.0}
    assert dict(zip(children["lot"], children["kg"], strict=True)) == {
        "BLEND-1": 400.0,
        "BLEND-2": 150.0,
    }
    assert twice.blends.parents("HOT").empty
    assert twice.blends.children("BLEND-2").empty


def test_a_recall_finds_every_lot_that_holds_some_of_it_and_how_much(twice):
    hot, mild = twice.blends.trace("HOT"), twice.blends.trace("MILD")

    assert dict(zip(hot["lot"], hot["share"], strict=True)) == pytest.approx(
        {"BLEND-1": 0.2, "BLEND-2": 0.05}
    )
    assert dict(zip(mild["lot"], mild["share"], strict=True)) == pytest.approx(
        {"BLEND-1": 0.8, "BLEND-2": 0.95}
    )
    assert hot["decision"].tolist() == ["accepted", ""]
    assert twice.blends.trace("ENDING").empty


def test_a_lot_rejected_after_it_was_blended_bars_all_that_it_went_into(twice_file, tmp_path):
    with Store.open(shutil.copy(twice_file, tmp_path / "lots.db")) as store:
        store.dispose("HOT", "rejected", by=mara(store), reason="taint")

        barred = store.blends.stock().lots.set_index("lot")["barred"]

    assert barred["BLEND-1"] == "it holds lot HOT, which is rejected"
    assert "it holds lot HOT, which is rejected" in barred["BLEND-2"]
    assert barred["MILD"] == ""


def test_parents_of_a_lot_that_is_not_in_the_store_are_refused_by_name(kept):
    house, _ = kept("house")

    for ask in (house.blends.parents, house.blends.children, house.blends.trace):
        with pytest.raises(UnknownName, match="no lot 'MILT'"):
            ask("MILT")


# Predicted against measured


def test_a_blend_is_received_judged_charted_and_offered_like_a_lot_that_was_bought(twice):
    key = StreamKey(
        material="cayenne powder",
        supplier="own blend",
        characteristic="heat",
        method="rapid sensor",
    )

    assert twice.stream(key).lot.tolist() == ["BLEND-1"]
    assert twice.verdict("BLEND-1").recommendation == "accept"
    offered = twice.blends.stock(lots=["BLEND-1"])
    assert offered.lots["barred"].tolist() == [""]
    assert "heat" in set(offered.assays["characteristic"])


def test_a_blend_s_assay_is_set_against_what_was_predicted(at, source_file):
    house, _ = at("made")
    measure(house, source_file, {"BLEND-1": 9.0})

    line = house.blends.against_measured(characteristic="heat").iloc[0]
    heat = next(
        one.mean
        for one in house.verdict("BLEND-1").lines
        if one.line.characteristic == "heat" and one.mean
    )
    assert (line["lot"], line["sheet"], line["made_at"].date()) == (
        "BLEND-1",
        "2026-0001",
        date(2026, 6, 1),
    )
    assert (line["measured"], line["measured_u"]) == (heat.value, heat.uncertainty_in_unit)
    assert line["deviation"] == pytest.approx(math.log(heat.value / 45_000.0))
    assert line["deviation_u"] == pytest.approx(math.hypot(1_800 / 45_000, heat.uncertainty))
    assert line["zeta"] == pytest.approx(line["deviation"] / line["deviation_u"])


def test_a_prediction_is_compared_on_its_own_basis(at, source_file):
    house, blend = at("issued")
    dry = replace(PREDICTED, basis="dry", mean=49_000.0)
    house.blends.make(blend, lot="BLEND-1", weighed=WEIGHED, predicted=[dry], by=mara(house))
    before = house.blends.against_measured().iloc[0]
    measure(house, source_file, {"BLEND-1": 8.0})
    without = house.blends.against_measured().iloc[0]
    water = source_file("moisture", "BLEND-1;1;02.06.2026;11:01;9,0")
    house.receive_bytes("moisture new.csv", water, by=ines(house))

    line = house.blends.against_measured().iloc[0]
    heat = next(one.mean for one in house.verdict("BLEND-1").lines if one.mean)
    assert before["remark"] == "not measured yet"
    assert without["remark"] == "not measured on dry basis"
    assert (line["basis"], line["remark"]) == ("dry", "")
    assert line["measured"] == pytest.approx(heat.value / (1.0 - 0.09))


def test_an_assay_beyond_the_calibrated_range_is_a_bound_and_no_deviation(at, source_file):
    house, _ = at("made")
    measure(house, source_file, {"BLEND-1": 90.0})

    line = house.blends.against_measured().iloc[0]

    assert line["remark"].startswith("known only to lie above ")
    assert math.isnan(line["deviation"])


def test_what_was_weighed_counts_for_the_comparison_and_not_what_was_planned(at):
    house, blend = at("issued")
    weighed = replace(PREDICTED, mean=44_400.0)
    house.blends.make(blend, lot="BLEND-1", weighed=WEIGHED, predicted=[weighed], by=mara(house))

    assert house.blends.against_measured()["predicted"].tolist() == [44_400.0]
    assert house.blends.predicted(house.blends.every()["blend"])["mean"].tolist() == [45_000.0]


def test_blends_that_come_out_hotter_teach_the_model_by_how_much(at, source_file):
    house, _ = at("made")
    small = replace(DRAFT, portions=(Portion(lot="MILD", kg=100.0),))
    heats = {"BLEND-1": 9.4, "BLEND-2": 9.9, "BLEND-3": 9.6}
    for lot in ("BLEND-2", "BLEND-3"):
        made(house, small, lot=lot)
    measure(house, source_file, heats)

    frame = house.blends.against_measured(characteristic="heat")
    learned = learned_bias(frame)

    assert learned.blends == 3
    assert 0.0 < learned.bias < frame["deviation"].mean()
    assert learned.corrected(45_000.0, 1_800.0)[0] == pytest.approx(45_000 * math.exp(learned.bias))
    assert not learned_bias(frame.head(2)).can_be_said


# The record


@pytest.fixture(scope="module")
def eventful_file(files, tmp_path_factory):
    """A store in which everything happened to stock and blends once, closed."""
    path = shutil.copy(files["made"][0], tmp_path_factory.mktemp("eventful") / "lots.db")
    with Store.open(path) as store:
        store.blends.count("ENDING", bags=7, bag_kg=25.0, by=mara(store), reason="stock-taking")
        store.blends.consume("ENDING", kg=10.0, by=mara(store), reason="sold")
        STEPS["cancelled"](store, store.blends.save(MILD_ONLY, by=mara(store)))
    return path


@pytest.fixture(scope="module")
def eventful(eventful_file, tmp_path_factory):
    """The eventful store's file, opened behind the store's back."""
    path = tmp_path_factory.mktemp("behind") / "lots.db"
    with duckdb.connect(str(shutil.copy(eventful_file, path))) as database:
        yield database


def test_every_write_has_one_entry_in_the_audit_chain(eventful_file, tmp_path):
    with Store.open(shutil.copy(eventful_file, tmp_path / "lots.db")) as store:
        checked, newest = store.verify(), store.audit(most=13)
        with store._connection.read() as cursor:
            tables = ("blend", "blend_event", "stock_move", "blend_parent")
            rows = [len(cursor.table(table).fetchall()) for table in tables]

    assert checked.faults == ()
    # Two drafts, four events, six moves for the blend, a count and a sale, and two parents.
    assert rows == [2, 4, 6 + 2, 2]
    assert newest["action"].tolist() == [
        "cancelled a blend",
        "drafted a blend",
        "consumed stock",
        "counted stock",
        "received",
        "issued a blend",
        "first signature: issued",
        "asked for a signature: issued",
        "approved a blend",
        "second signature: approved",
        "first signature: approved",
        "asked for a signature: approved",
        "drafted a blend",
    ]


TAMPERED = {
    "a count": (
        "update stock_move set kg = 300 where kind = 'counted'",
        "stock move: what audit entry NN (counted stock ENDING) seals was changed",
    ),
    "who counted": (
        "update stock_move set moved_by = 'x' where kind = 'counted'",
        "stock move: what audit entry NN (counted stock ENDING) seals was changed",
    ),
    "a reservation, deleted": (
        "delete from stock_move where kind = 'reserved'",
        "stock move: audit entry NN (issued a blend KEY) seals 2 rows, but 0 stand",
    ),
    "a move from nowhere": (
        "insert into stock_move select * replace ('x' as move) from stock_move where step = 1",
        "stock move: audit entry NN (issued a blend KEY) seals 2 rows, but 3 stand",
    ),
    "a move, twice": (
        "insert into stock_move select * from stock_move where step = 1",
        "stock move: audit entry NN (issued a blend KEY) seals 2 rows, but 3 stand",
    ),
    "a recipe": (
        """update blend set recipe = replace(recipe, '110.0', '11.0')""",
        "blend: what audit entry NN (drafted a blend KEY) seals was changed",
    ),
    "the evidence": (
        "update blend set evidence = '{}'",
        "blend: what audit entry NN (drafted a blend KEY) seals was changed",
    ),
    "who approved": (
        "update blend_event set signed_by = 'x' where role = 'QA lead'",
        "blend event: what audit entry NN (approved a blend KEY) seals was changed",
    ),
    "an event, deleted": (
        "delete from blend_event where what = 'cancelled'",
        "blend event: audit entry NN (cancelled a blend KEY) seals 1 row, but 0 stand",
    ),
    "what was weighed": (
        "update blend_parent set kg = 1 where parent = 'HOT'",
        "blend parent: what audit entry NN (received blend 2026-0001.json) seals was changed",
    ),
    "a parent, deleted": (
        "delete from blend_parent where parent = 'HOT'",
        "blend parent: audit entry NN (received blend 2026-0001.json) seals 2 rows, but 1 stand",
    ),
    "the new lot": (
        "update lot set harvest_year = 2020 where lot = 'BLEND-1'",
        "lot: what audit entry NN (received blend 2026-0001.json) seals was changed",
    ),
    "the record of making": (
        "update receipt set bytes = encode('nothing') where kind = 'blend'",
        "the bytes of blend 2026-0001.json are not the ones received",
    ),
}


def found(database, statement):
    """What verification says after a statement was run behind the store's back."""
    cursor = database.cursor()
    cursor.execute("begin")
    cursor.execute(statement)
    faults = verification.verify(cursor).faults
    cursor.execute("rollback")
    return [re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "KEY", fault) for fault in faults]


@pytest.mark.parametrize("what", TAMPERED)
def test_a_row_changed_behind_the_store_s_back_is_found_and_named(eventful, what):
    statement, sentence = TAMPERED[what]

    faults = found(eventful, statement)

    said = [re.sub(r"entry \d+", "entry NN", fault) for fault in faults]
    assert any(sentence in fault for fault in said), faults


KILLED = """
import os, signal, sys
from spc.store import Store
from spc.store.blends import blends, making
from spc.store.blends.blends import Signed
from spc.store.people.proofs import STORE

with Store.open(sys.argv[1]) as store:
    def die(cursor):
        made = making.Made(lot="BLEND-1", weighed={"HOT": 108.5, "MILD": 400.0})
        making.make(cursor, sys.argv[2], made, Signed(by=STORE))
        os.kill(os.getpid(), signal.SIGKILL)
    store.blends._write(die)
"""


def test_a_process_killed_before_the_making_was_committed_leaves_nothing_of_it(
    files, tmp_path, contents
):
    path, blend = files["issued"]
    path = shutil.copy(path, tmp_path / "lots.db")
    with Store.open(path) as store:
        before = contents(store)

    killed = subprocess.run(
        [sys.executable, "-c", KILLED, str(path), blend], check=False, capture_output=True
    )

    assert killed.returncode == -9, killed.stderr
    with Store.open(path) as store:
        assert contents(store) == before
        assert store.verify().faults == ()
        store.blends.make(blend, lot="BLEND-1", weighed=WEIGHED, by=mara(store))
        assert store.blends.one(blend).status == "made"


def test_a_store_of_the_first_schema_gets_stock_and_blends_when_it_is_opened(tmp_path):
    path = tmp_path / "old.db"
    with duckdb.connect(str(path)) as database:
        migrations.apply(database, migrations.steps()[:1])
        database.execute(
            "insert into lot values"
            " ('L-1', 'cayenne powder', 'North Mill', '', now(), 2025, 40, 25, null, '', '', 1)"
        )

    with Store.open(path) as store:
        store.blends.count("L-1", bags=7, bag_kg=25.0, by=ME, reason="stock-take")
        assert store.blends.moves("L-1")["there_kg"].tolist() == [175.0]
        (fault,) = store.verify().faults
    assert fault.endswith("in the name of no receipt, which the audit chain does not know.")
