"""The catalogues hold every message, and say each with the same values in it."""

from __future__ import annotations

import re
from string import Formatter

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

import messages
from sunpantry.language import LANGUAGES, gettext, language, ngettext, speak, speaking
from sunpantry.phrases import phrase, phrases
from sunpantry.report.numbers import NO_BREAK, Numbers

pytestmark = pytest.mark.regression
OTHERS = [name for name in LANGUAGES if name != "en"]


def catalogue(name: str) -> Catalog:
    """A catalogue as it is shipped."""
    with (messages.LOCALES / name / "messages.po").open("rb") as stream:
        return read_po(stream, locale=name)


def pairs(message: Message) -> list[tuple[str, str]]:
    """Each form of a message with its translation."""
    said = (message.id,) if isinstance(message.id, str) else tuple(message.id)
    string = message.string or ("",) * len(said)
    translated = (string,) if isinstance(string, str) else tuple(string)
    return [one for one in zip(said, translated, strict=True) if one[1]]


def places(text: str) -> list[str]:
    """Placeholders of a text with their formats."""
    if re.search(r"%\(\w+\)", text):
        return sorted(re.findall(r"%\(\w+\)s", text))
    return sorted({f"{name}:{spec}" for _, name, spec, _ in Formatter().parse(text) if name})


@pytest.fixture(scope="module")
def wanted() -> Catalog:
    """Every message of the code and the templates."""
    return messages.wanted()


@pytest.mark.parametrize("name", OTHERS)
def test_every_message_is_there_and_none_is_doubtful(name: str, wanted: Catalog) -> None:
    known = catalogue(name)
    assert len(wanted) > 1500
    lacking = [str(one.id) for one in wanted if one.id and known.get(_key(one)) is None]
    assert lacking == [], "run tools/messages.py and translate"
    assert messages.missing(known) == []
    assert not [one.id for one in known if one.fuzzy and one.id]


def _key(message: Message) -> str:
    return message.id if isinstance(message.id, str) else str(message.id[0])


@pytest.mark.parametrize("name", OTHERS)
def test_translations_take_the_same_values(name: str) -> None:
    """A placeholder that is lost or misspelt would be a crash or a lost number."""
    for message in catalogue(name):
        if message.id:
            for said, translated in pairs(message):
                assert places(said) == places(translated), said


@pytest.mark.parametrize("name", OTHERS)
def test_pieces_join_as_in_english(name: str) -> None:
    """A piece that ends in a space goes on with one in every language."""
    for message in catalogue(name):
        if message.id:
            for said, translated in pairs(message):
                assert said.endswith(" ") == translated.endswith(" "), said
                starts = translated[:1].isspace() or translated[:1] in ",;:."
                assert starts or not said.startswith(" "), said


def test_what_needs_words_is_told_from_signs() -> None:
    assert messages.needs_words("Take {count} of them.")
    assert messages.needs_words("Wh/day")
    for signs in ("{power_w:g} W", "{size:g} mm²", "{count} × {size}", "h", "{a} V, {b:g} Ah"):
        assert not messages.needs_words(signs), signs


def test_a_language_is_spoken_for_a_while() -> None:
    assert language() == "en"
    with speaking("de"):
        assert gettext("charge controller") == "Laderegler"
        with speaking("en"):
            assert gettext("charge controller") == "charge controller"
        assert language() == "de"
        assert ngettext("{count} hour", "{count} hours", 2) == "{count} Stunden"
        assert ngettext("{count} hour", "{count} hours", 1) == "{count} Stunde"
        assert gettext("no message at all") == "no message at all"
    assert language() == "en"
    speak("xx")
    assert language() == "en"


def test_a_sentence_in_german_with_german_numbers() -> None:
    """CLDR, de: comma, point between thousands, no-break space before the percent sign."""
    told = Numbers("de_DE").told
    with speaking("de"):
        short = phrase("The battery may give {limit_a:.0f} A, more than is asked of it.", limit_a=9)
        assert told(short) == "Die Batterie darf 9 A geben, mehr als von ihr verlangt wird."
        much = phrase("In {month}: {rest}", month=phrase("May"), rest=phrases(
            "{count} hour", "{count} hours", count=1234))  # fmt: skip
        assert told(much) == "In Mai: 1.234 Stunden"
        assert Numbers("de_DE").number(2.5, "days") == f"2,5{NO_BREAK}Tage"
