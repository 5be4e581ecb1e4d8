"""A catalogue or profile that is too large or too deep is refused like any file, and at once."""

import time

import pytest

from spc.errors import BadCatalogue, BadProfile
from spc.intake.catalogue import parse as catalogue_of
from spc.intake.profiles.profile import parse

PROFILE = 'profile = "x"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 100_000, "more than 20 deep"),
        ("a = " + "[" * 30 + "]" * 30, "more than 20 deep"),
        ("a = " + "{b = " * 50_000, "more than 20 deep"),
        ("a" + ".a" * 500_000 + " = 1", "more than 20 deep"),
        ("[" + "a . " * 30 + "a]", "more than 20 deep"),
        ("\n".join(["x = [1]"] * 300_000), "larger than 2 MB"),
        ("a = " + "9" * 10_000, "not well-formed TOML"),
        ("a = [1,", "not well-formed TOML"),
        ("a = 9999-99-99", "not well-formed TOML"),
        ("x" * 100_000 + " = 1", "means nothing here"),
    ],
)
def test_it_is_refused_in_a_sentence_and_at_once(text, said):
    begun = time.process_time()

    for read, refusal in ((parse, BadProfile), (catalogue_of, BadCatalogue)):
        with pytest.raises(refusal, match=said if read is parse else None) as caught:
            read(PROFILE + text)
        assert len(str(caught.value)) < 400

    assert time.process_time() - begun < 5.0


def test_dots_in_a_text_are_no_depth():
    text = PROFILE + 'source = "' + "a. " * 100 + '"\n[file]\n[columns]\nlot = "Lot"\n'

    with pytest.raises(BadProfile, match="neither measures"):
        parse(text)


def test_a_long_value_is_not_repeated_whole():
    with pytest.raises(BadProfile, match="version must be a whole number") as caught:
        parse(f'{PROFILE}version = "{"y" * 10_000}"\n[file]\n[columns]\nlot = "Lot"\n')

    assert len(str(caught.value)) < 400
