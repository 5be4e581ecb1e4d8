"""A source profile for files that none fits yet: the readings a person chose, and its text."""

from collections.abc import Mapping, Sequence

from spc.intake.methods import MeasuringMethod
from spc.intake.profiles.profile import FileForm, Headers, Measure
from spc.intake.proposals.candidates import Reading
from spc.intake.proposals.proposal import Proposal, profile_text
from spc.store import Store


def chosen_readings(
    proposed: Proposal, headers: Sequence[str], methods: Sequence[MeasuringMethod]
) -> list[Reading]:
    """The proposed readings that a person left, and those that a person added.

    Parameters
    ----------
    proposed
        What the file seems to say.
    headers
        Columns that a person says hold readings.
    methods
        Of the catalogue, any of which may have measured what was added.

    Returns
    -------
    list of Reading
    """
    wide = [one for one in proposed.readings if not one.where]
    kept = [one for one in wide if {one.reading, *one.parts.values()} - {""} <= {*headers}]
    known = {header for one in kept for header in (one.reading, *one.parts.values())}
    added = [
        Reading(reading=header, parts={}, candidates=tuple(methods))
        for header in headers
        if header not in known
    ]
    return [*kept, *added]


def next_profile_text(
    store: Store,
    profile: str,
    *,
    file: str,
    form: FileForm,
    columns: Mapping[str, Headers],
    measures: Sequence[Measure],
) -> str:
    """The next version of a source profile, as a catalogue of its own.

    Parameters
    ----------
    store
        Which knows the versions there are.
    profile
        Its name.
    file
        From which it was proposed.
    form
        How such a file is laid out.
    columns
        Meaning to header.
    measures
        What its readings are.

    Returns
    -------
    str
        TOML, to be received like any source profile.
    """
    return profile_text(
        profile,
        version=store.intake.profiles().get(profile, 0) + 1,
        source=f"Proposed from {file}, and checked by a person.",
        form=form,
        columns=columns,
        measures=measures,
    )
