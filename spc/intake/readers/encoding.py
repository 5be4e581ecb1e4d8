"""In which encoding a text came, by its bytes."""

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

# Looked at for signs beyond ASCII; whether a text is UTF-8 at all is asked of the whole.
_SAMPLE: Final = 1 << 20
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Encodings of one byte a sign that laboratory computers of Europe and America have used.
_SINGLE: Final = ("cp1252", "cp850", "mac_roman")
_LETTERS: Final = frozenset("ÄÖÜäöüßÀÂÇÈÉÊËÎÏÔÙÛàâçèéêëîïôùûÁÍÓÚÑáíóúñÃÕãõÅÆØåæøÌÒìòŒœ")
_SIGNS: Final = frozenset("µ°±²³×·½¼€‰–—“”„’«»§≤≥\N{NO-BREAK SPACE}¿¡ªº")
# Enough to judge by, and to show.
_MOST_SEEN: Final = 1000
_SHOWN: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoding:
    """The encoding of a text, and how sure that is.

    Attributes
    ----------
    name
        As the codecs know it.
    reason
        A sentence.
    others
        Other encodings in which it could be read as well; empty if the bytes leave no doubt.
    examples
        Words that tell them apart, as read by `name`.
    """

    name: str
    reason: str
    others: tuple[str, ...] = ()
    examples: tuple[str, ...] = ()


def encoding(content: bytes) -> Encoding:
    """The encoding of a text."""
    for mark, name in _MARKS:
        if content.startswith(mark):
            return Encoding(name=name, reason="It begins with a byte order mark.")
    if wide := _without_mark(content[:_SAMPLE]):
        return Encoding(name=wide, reason="Every second byte is empty.")
    if content.isascii():
        return Encoding(name="utf-8", reason="It holds only signs that are the same everywhere.")
    if _is_utf8(content):
        return Encoding(name="utf-8", reason="Its bytes are valid UTF-8, which is no accident.")
    return _single(content[:_SAMPLE])


def _without_mark(sample: bytes) -> str:
    half = len(sample) // 2
    if half and sample[1::2].count(0) > 0.7 * half and 0 not in sample[::2]:
        return "utf-16-le"
    if half and sample[::2].count(0) > 0.7 * half and 0 not in sample[1::2]:
        return "utf-16-be"
    return ""


def _is_utf8(content: bytes) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    view = memoryview(content)
    try:
        for at in range(0, len(content), _SAMPLE):
            decoder.decode(view[at : at + _SAMPLE])
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _single(sample: bytes) -> Encoding:
    """The encoding in which the signs beyond ASCII make most sense."""
    sense = {name: _sense(sample, name) for name in _SINGLE}
    best = max(sense, key=lambda name: sense[name])
    others = tuple(name for name in _SINGLE if name != best and sense[name] == sense[best])
    doubt = sense[best] < 1.0
    return Encoding(
        name=best,
        reason="Its bytes are not UTF-8; "
        + ("no encoding makes sense of all of them." if doubt else f"as {best} they make words."),
        others=tuple(name for name in _SINGLE if name != best) if doubt else others,
        examples=tuple(dict.fromkeys(_words(sample, best)))[:_SHOWN],
    )


def _sense(sample: bytes, name: str) -> float:
    """The share of signs beyond ASCII that stand where such signs stand."""
    text = f" {sample.decode(name, errors='replace')} "
    seen = [at for at, sign in enumerate(text) if not sign.isascii()][:_MOST_SEEN]
    return sum(_is_sound(text[at - 1 : at + 2]) for at in seen) / len(seen) if seen else 0.0


def _is_sound(around: str) -> bool:
    """Whether a sign may stand between these two: no capital in a word, no measure in one."""
    before, sign, after = tuple(around)
    if sign in _LETTERS:
        return not (sign.isupper() and before.islower())
    return sign in _SIGNS and not (_is_letter(before) and _is_letter(after))


def _is_letter(sign: str) -> bool:
    return sign.isalpha() and sign.isascii()


def _words(sample: bytes, name: str) -> Iterator[str]:
    for word in sample.decode(name, errors="replace").replace(";", " ").replace(",", " ").split():
        if not word.isascii():
            yield word
