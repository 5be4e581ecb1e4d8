"""A proposed source profile holds what a person chose, and is the next of its name."""

from spc.answers.source_profiles import chosen_readings, next_profile_text
from spc.intake.profiles import profile
from spc.intake.profiles.profile import FileForm, Measure
from spc.intake.proposals.candidates import Reading
from spc.intake.proposals.proposal import Proposal


def reading(header, **other):
    return Reading(**{"reading": header, "parts": {}, "candidates": (), **other})


def test_what_a_person_left_stays_and_what_a_person_added_may_be_any_method(small_store):
    methods = small_store.catalogue().methods
    proposed = Proposal(
        columns={},
        readings=(reading("Heat"), reading("Water"), reading("Value", where={"What": ("heat",)})),
        date_styles=(),
    )

    found = chosen_readings(proposed, ["Heat", "Colour"], methods)

    assert [one.reading for one in found] == ["Heat", "Colour"]
    assert found[0] is proposed.readings[0]
    assert found[1].candidates == tuple(methods)


def test_the_next_version_of_a_known_source_counts_on_and_a_new_one_begins_at_one(small_store):
    measure = Measure(
        characteristic="heat",
        method="rapid sensor",
        reading="Heat",
        unit="SHU",
        basis="as-is",
    )

    def parsed(name):
        text = next_profile_text(
            small_store,
            name,
            file="march.csv",
            form=FileForm(),
            columns={"lot": ("Lot",)},
            measures=[measure],
        )
        return profile.parse(text)

    assert parsed("sensor").version == small_store.intake.profiles()["sensor"] + 1
    assert parsed("another sensor").version == 1
    assert parsed("another sensor").profile == "another sensor"
