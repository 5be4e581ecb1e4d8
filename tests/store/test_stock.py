"""What is left of each lot, whether it may go into a blend, and what a recipe knows of it."""

import shutil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.errors import InvalidInput, UnknownName
from spc.store import Store
from spc.store.blends.bags import Move, delivered, kilograms
from tests.approved import in_force
from tests.staff import ines, mara, stand_still

WHY = "stock-taking"

CORRECTION = """
[[correction]]
method = "rapid sensor"
characteristic = "heat"
version = 1
effective_from = 2026-01-01
against = "liquid chromatography"
approved_by = "Mara Quill"
reason = "reads low"
kind = "ratio"
offset = 0.0
slope = 0.92
offset_variance = 0.0
slope_variance = 0.0004
covariance = 0.0
degrees_of_freedom = 39
residual_sd = 0.05
lowest = 1000.0
highest = 200000.0
lots = 40
"""


def line(store, lot):
    """What the stock says of one lot."""
    return store.blends.stock(lots=[lot]).lots.iloc[0]


def consume(store, kg, *, lot="MILD"):
    store.blends.consume(lot, kg=kg, by=mara(store), reason="used as it is")


@pytest.fixture(scope="module")
def kept(stocked_file, tmp_path_factory):
    """The stocked store, for what is refused."""
    path = tmp_path_factory.mktemp("kept") / "lots.db"
    with Store.open(shutil.copy(stocked_file, path)) as store:
        yield store


@pytest.fixture(scope="module")
def seen(stocked_file, tmp_path_factory):
    """The stock of the stocked store, as recipes see it, and every verdict."""
    path = tmp_path_factory.mktemp("seen") / "lots.db"
    with Store.open(shutil.copy(stocked_file, path)) as store:
        stock = store.blends.stock(material="cayenne powder")
        return stock, store.verdicts(stock.lots["lot"].tolist())


def test_what_was_delivered_is_there_until_something_happens_to_it(stocked):
    mild = line(stocked, "MILD")

    assert (mild["delivered_kg"], mild["available_kg"], mild["reserved_kg"]) == (
        1000.0,
        1000.0,
        0.0,
    )
    assert (mild["bags"], mild["bag_kg"], mild["opened_kg"]) == (40, 25.0, 0.0)
    assert (mild["price_per_kg"], mild["currency"], mild["origin"]) == (
        4.0,
        "EUR",
        "Southern Plain",
    )
    assert mild["age_days"] == 90


def test_a_bag_is_opened_for_what_is_no_whole_bag_and_the_opened_one_is_used_first(stocked):
    consume(stocked, 60.0)
    once = line(stocked, "MILD")
    consume(stocked, 10.0)
    twice = line(stocked, "MILD")

    assert (once["bags"], once["opened_kg"], once["available_kg"]) == (37, 15.0, 940.0)
    assert (twice["bags"], twice["opened_kg"], twice["available_kg"]) == (37, 5.0, 930.0)
    assert twice["consumed_kg"] == 70.0


@given(
    bag_kg=st.integers(1, 40),
    packages=st.integers(1, 30),
    grams=st.lists(st.integers(1, 60_000), max_size=20),
)
def test_bags_are_opened_one_by_one_as_a_storeman_would(bag_kg, packages, grams):
    """Against a slow second way: open a bag whenever the opened one is empty, gram by gram."""
    held = delivered("L", packages=packages, package_kg=float(bag_kg))
    whole, opened = packages, 0
    for taken in grams:
        if taken > whole * bag_kg * 1000 + opened:
            break
        held = held.checked(Move(lot="L", kind="consumed", kg=taken / 1000))
        while opened < taken:
            whole, opened = whole - 1, opened + bag_kg * 1000
        opened -= taken

    assert held.bags == whole
    assert held.opened_kg == pytest.approx(opened / 1000, abs=1e-6)
    assert held.available_kg == pytest.approx((whole * bag_kg * 1000 + opened) / 1000, abs=1e-6)


def test_no_more_is_taken_than_is_there(stocked, contents):
    consume(stocked, 990.0)
    before = contents(stocked)

    with pytest.raises(InvalidInput) as refused:
        consume(stocked, 10.5)

    assert refused.value.where == "lot MILD"
    assert "10.5 kg were asked for, but 10 kg can be had (10 kg there" in refused.value.what
    assert contents(stocked) == before


def test_the_last_gram_can_be_taken_and_then_nothing_is_left(stocked):
    for _ in range(3):
        consume(stocked, 333.3)
    consume(stocked, 0.1)

    mild = line(stocked, "MILD")
    assert (mild["available_kg"], mild["bags"], mild["opened_kg"]) == (0.0, 0, 0.0)
    assert mild["barred"] == "nothing is left of it"


def test_a_count_puts_the_books_right_and_says_by_how_much(stocked):
    consume(stocked, 60.0)
    stocked.blends.count("MILD", bags=36, bag_kg=25.0, opened_kg=12.5, by=mara(stocked), reason=WHY)

    mild = line(stocked, "MILD")
    assert (mild["bags"], mild["opened_kg"], mild["available_kg"]) == (36, 12.5, 912.5)
    assert mild["adjusted_kg"] == -27.5
    moves = stocked.blends.moves("MILD")
    assert moves["kind"].tolist() == ["consumed", "counted"]
    assert moves["there_kg"].tolist() == [940.0, 912.5]
    assert moves["moved_by"].tolist() == ["Mara Quill"] * 2


def test_a_delivery_that_names_no_packages_is_not_known_until_it_was_counted(stocked):
    before = line(stocked, "UNCOUNTED")
    with pytest.raises(InvalidInput, match="nobody knows how much of it is there"):
        consume(stocked, 1.0, lot="UNCOUNTED")
    stocked.blends.count(
        "UNCOUNTED", bags=4, bag_kg=20.0, opened_kg=3.0, by=mara(stocked), reason=WHY
    )
    after = line(stocked, "UNCOUNTED")

    assert before[["available_kg", "bags", "delivered_kg"]].isna().all()
    assert before["barred"] == "nobody knows how much of it is there, so count it first"
    assert (after["available_kg"], after["barred"], after["adjusted_kg"]) == (83.0, "", 0.0)


def test_loose_goods_are_counted_without_bags(stocked):
    stocked.blends.count("MILD", bags=0, opened_kg=120.0, by=mara(stocked), reason=WHY)
    consume(stocked, 20.0)

    assert line(stocked, "MILD")["available_kg"] == 100.0


@pytest.mark.parametrize(
    "found",
    [
        {"bags": -1, "bag_kg": 25.0},
        {"bags": 2},
        {"bags": 2, "bag_kg": 0.0},
        {"bags": 2, "bag_kg": float("nan")},
        {"bags": 2.5, "bag_kg": 25.0},
        {"bags": 0, "opened_kg": -3.0},
        {"bags": 0, "opened_kg": float("inf")},
    ],
)
def test_what_cannot_be_counted_is_refused(kept, found):
    with pytest.raises(InvalidInput, match=r"lot MILD: .* is no count\. Give whole bags from 0"):
        kept.blends.count("MILD", **found, by=mara(kept), reason=WHY)


@pytest.mark.parametrize("kg", [0.0, -5.0, float("nan"), float("inf")])
def test_what_cannot_be_weighed_is_refused(kept, kg):
    with pytest.raises(InvalidInput, match=r"lot MILD: .* kg cannot be weighed"):
        consume(kept, kg)


def test_stock_does_not_change_without_a_reason(kept):
    with pytest.raises(InvalidInput, match="no reason is given"):
        kept.blends.count("MILD", bags=1, bag_kg=25.0, by=mara(kept), reason=" ")


def test_stock_of_a_lot_that_is_not_in_the_store_is_answered_with_those_near(kept):
    with pytest.raises(UnknownName, match="Did you mean MILD"):
        consume(kept, 1.0, lot="MILDE")


BARRED = {
    "HOT": "",
    "MILD": "",
    "ENDING": "",
    "TOXIC": "the safety line aflatoxin B1 is not conforming, and mixing does not make it"
    " compliant",
    "UNTESTED": "the safety line aflatoxin B1 has no result that may decide",
    "REJECTED": "rejected",
    "HELD": "on hold",
    "NEW": "not decided yet",
    "UNCOUNTED": "nobody knows how much of it is there, so count it first",
}


@pytest.mark.parametrize(("lot", "reason"), BARRED.items())
def test_a_lot_is_offered_or_barred_for_a_reason_in_words(seen, lot, reason):
    stock, _ = seen

    assert stock.lots.set_index("lot").loc[lot, "barred"] == reason


def test_a_failing_safety_line_bars_a_lot_that_somebody_accepted(seen):
    stock, verdicts = seen
    toxic = stock.lots.set_index("lot").loc["TOXIC"]

    assert toxic["decision"] == "accepted"
    assert verdicts["TOXIC"].recommendation == "reject"
    assert toxic["barred"].startswith("the safety line aflatoxin B1")


def test_a_lot_let_in_for_a_use_and_a_time_is_offered_with_its_terms(seen):
    stock, _ = seen
    ending = stock.lots.set_index("lot").loc["ENDING"]

    assert ending["decision"] == "accepted under concession"
    assert (ending["scope"], ending["expires_on"]) == ("sauce only", "2026-06-30")
    assert stock.lots.set_index("lot")["limited"].sum() == 2


def test_a_lot_is_not_offered_after_its_terms_ran_out(stocked_file, tmp_path):
    path = shutil.copy(stocked_file, tmp_path / "later.db")
    with Store.open(path) as store:
        stand_still(store, "2026-07-01")
        reason = line(store, "ENDING")["barred"]

    assert reason == "accepted under concession until 2026-06-30, which has passed"


def test_a_material_without_a_specification_is_not_offered(kept):
    reason = line(kept, "PAPRIKA")["barred"]

    assert reason == "its material has no specification, so no safety line was looked at"


def test_several_safety_lines_are_named_in_one_breath(kept):
    reason = line(kept, "FLAKES")["barred"]

    assert reason == ("the safety lines aflatoxin B1 and Salmonella have no result that may decide")


def equal_to_the_dossier(stock, verdicts):
    """How many lot means were compared with those of the verdicts, and found the same."""
    known = stock.assays.set_index(["lot", "characteristic"])
    judged = [
        (known.loc[lot, one.line.characteristic], one.mean)
        for lot in known.index.unique("lot")
        for one in verdicts[lot].lines
        if one.mean is not None and not one.line.safety
    ]
    for told, mean in judged:
        assert told["mean"] == mean.value
        assert told["uncertainty"] == mean.uncertainty_in_unit
        assert (told["method"], told["unit"]) == (mean.method.method, mean.unit)
    return len(judged)


def test_the_numbers_of_a_recipe_are_those_of_the_lot_s_verdict(seen):
    assert equal_to_the_dossier(*seen) == 6


def test_an_adopted_correction_reaches_the_recipe_as_it_reaches_the_verdict(stocked):
    before = stocked.blends.stock(lots=["MILD"]).assays.set_index("characteristic").loc["heat"]
    stocked.receive_bytes("correction.toml", CORRECTION.encode(), by=mara(stocked))
    in_force(stocked)

    after = stocked.blends.stock(material="cayenne powder")
    verdicts = stocked.verdicts(after.lots["lot"].tolist())

    assert equal_to_the_dossier(after, verdicts) == 6
    corrected = after.assays.set_index(["lot", "characteristic"]).loc["MILD", "heat"]
    assert corrected["mean"] == pytest.approx(before["mean"] / 0.92)


def test_only_what_may_be_mixed_to_a_level_is_told_of_lots_that_may_be_used(seen):
    stock, _ = seen

    assert set(stock.assays["lot"]) == {"HOT", "MILD", "ENDING"}
    assert set(stock.assays["characteristic"]) == {"heat", "moisture", "colour"}


def test_a_characteristic_that_nothing_limits_is_told_too(seen):
    stock, _ = seen
    colour = stock.assays.set_index(["characteristic", "lot"]).loc["colour"]

    assert colour["mean"].to_dict() == {"HOT": 62.0, "MILD": 71.5}
    assert colour.loc["HOT", "uncertainty"] == pytest.approx((2.0**2 + 1.5**2) ** 0.5)


def test_a_mean_tells_its_basis_its_age_and_what_averages_out(seen):
    stock, _ = seen
    heat = stock.assays.set_index(["characteristic", "lot"]).loc["heat", "MILD"]

    assert (heat["basis"], heat["scale"], heat["age_days"], heat["bound"]) == (
        "as-is",
        "log",
        81.0,
        "",
    )
    assert heat["method_part"] == pytest.approx(0.05 * heat["mean"])
    assert heat["uncertainty"] == pytest.approx(
        (heat["sampling"] ** 2 + heat["method_part"] ** 2) ** 0.5
    )


def test_a_mean_beyond_the_calibrated_range_is_told_as_a_bound(stocked, source_file):
    rows = [f"MILD,{bag},1,2026-03-20 10:00:00,0.1,10,10,90,µmol/L" for bag in (1, 2, 3)]
    stocked.receive_bytes("sensor2.csv", source_file("sensor", *rows), by=ines(stocked))

    assays = stocked.blends.stock(lots=["MILD"]).assays.set_index("characteristic")

    assert assays.loc["heat", "bound"] == "above"
    assert assays.loc["moisture", "bound"] == ""


def test_stock_of_what_is_not_in_the_store_is_refused_by_name(kept):
    with pytest.raises(UnknownName, match="no material 'cayenne'"):
        kept.blends.stock(material="cayenne")
    with pytest.raises(UnknownName, match="no lot 'MILDE'"):
        kept.blends.stock(lots=["MILD", "MILDE"])


def test_an_empty_store_has_no_stock(tmp_path):
    with Store.open(tmp_path / "empty.db") as store:
        stock = store.blends.stock()

    assert stock.lots.empty
    assert stock.assays.empty


@pytest.mark.parametrize(
    ("kg", "told"), [(1234.5, "1 234.5 kg"), (25.0, "25 kg"), (0.125, "0.125 kg")]
)
def test_kilograms_are_written_to_the_gram(kg, told):
    assert kilograms(kg).replace("\N{NARROW NO-BREAK SPACE}", " ") == told
