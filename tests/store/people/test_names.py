# ruff: noqa: RUF001 - letters that look alike are what this is about
"""Names that would make a second person of one, or one of two."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.errors import RegisterRefused
from spc.store.people.lookalikes import likeness
from spc.store.people.names import shown, sign_in_name


@pytest.mark.parametrize(
    "typed",
    ["Jonas  Terrow", " Jonas Terrow ", "Jonas\u00a0Terrow", "Jonas\tTerrow", "Jonas\u2003Terrow"],
)
def test_white_space_makes_no_second_person(typed):
    assert shown(typed) == "Jonas Terrow"


def test_a_decomposed_umlaut_makes_no_second_person():
    assert shown("Jo\u0308rg Mu\u0308ller") == "Jörg Müller"


@pytest.mark.parametrize(
    ("sign", "told"),
    [
        ("\u200b", "zero width space"),
        ("\u200d", "zero width joiner"),
        ("\u202e", "right-to-left override"),
        ("\u2066", "left-to-right isolate"),
        ("\ufeff", "zero width no-break space"),
        ("\u00ad", "soft hyphen"),
        ("\u3164", "hangul filler"),
        ("\ufe0f", "variation selector-16"),
        ("\u034f", "combining grapheme joiner"),
        ("\x00", "a sign without a name"),
        ("\ue000", "a sign without a name"),
        ("\U000e0041", "tag latin capital letter a"),
    ],
)
def test_a_name_with_something_invisible_is_refused_and_it_is_named(sign, told):
    with pytest.raises(RegisterRefused, match=f"sign 6 cannot be seen: {told}"):
        shown(f"Jonas{sign} Terrow")


@pytest.mark.parametrize(
    "typed", ["x", ".", "", "   ", "1", "Q" * 101, "os:root", "=cmd()", "<b>Mara"]
)
def test_what_is_no_name_is_refused(typed):
    with pytest.raises(RegisterRefused, match=r"is no name of a person|cannot"):
        shown(typed)


def test_a_name_under_a_pile_of_marks_is_refused():
    with pytest.raises(RegisterRefused, match="more than two marks"):
        shown("Jonas" + "\u0323\u0331\u0316\u0317" + " Terrow")


@pytest.mark.parametrize("typed", ["Jоnas Terrow", "Μara Quill"])
def test_a_name_in_two_alphabets_is_refused(typed):
    with pytest.raises(RegisterRefused, match="mixes letters of"):
        shown(typed)


@pytest.mark.parametrize("name", ["Ольга Ильина", "Ναταλία Μαρή", "李 小龍", "José O’Neill-Łuk"])
def test_names_of_one_alphabet_are_kept_as_they_are(name):
    assert shown(name) == name


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Mara Quill", "mara quill"),
        ("Mara Quill", "Mara Quiil"),
        ("Mara Quill", "Mara QuiI1"),
        ("Mara Quill", "MaraQuill"),
        ("Mara Quill", "Ｍａｒａ Quill"),
        ("Arne Modo", "Ame M0do"),
        ("Anne O'Hara", "Anne O’Hara"),
        ("Sara Hope", "Ѕаrа Норе"),
        ("Anna Tot", "ΑΝΝΑ ΤΟΤ"),
        ("Weiss", "Weiß"),
    ],
)
def test_names_that_look_alike_are_one_to_the_register(one, other):
    assert likeness(one) == likeness(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("Jörg Muller", "Jörg Müller"), ("Anna Lind", "Anne Lind"), ("Ола", "Оля")],
)
def test_names_that_a_reader_tells_apart_stay_two(one, other):
    assert likeness(one) != likeness(other)


@pytest.mark.parametrize("typed", ["mara quill", "mära", "os:root", "", ".mara", "a\u200bb", "м"])
def test_a_sign_in_name_is_small_letters_and_digits(typed):
    with pytest.raises(RegisterRefused, match="cannot be a name to sign in with"):
        sign_in_name(typed)


def test_a_sign_in_name_is_the_same_in_capitals():
    assert sign_in_name(" Mara.Quill@House.example ") == "mara.quill@house.example"


@given(st.text(max_size=40))
def test_a_name_that_is_taken_is_taken_again_unchanged(typed):
    try:
        name = shown(typed)
    except RegisterRefused:
        return

    assert shown(name) == name
    assert name == unicodedata.normalize("NFC", name)


@given(st.text(max_size=40))
def test_how_a_name_is_composed_or_written_large_changes_no_likeness(typed):
    assert likeness(unicodedata.normalize("NFD", typed)) == likeness(typed)
    assert likeness(f" {typed} ") == likeness(typed)
