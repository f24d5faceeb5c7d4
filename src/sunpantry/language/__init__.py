"""The language that is spoken: message catalogues, read from their sources.

English stands in the code. A face chooses the language of what it is about to show with
:func:`speak`; :func:`gettext` and :func:`ngettext` look a message up in its catalogue.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

LANGUAGES = {"en": "English", "de": "Deutsch"}
# English is written as at the site; a language of its own brings its own numbers.
LOCALES = {"de": "de_DE"}
_language: ContextVar[str] = ContextVar("language", default="en")


def language() -> str:
    """Language of what is being shown."""
    return _language.get()


def speak(name: str) -> None:
    """Choose the language for what is shown next.

    Parameters
    ----------
    name : str
        One of ``LANGUAGES``.
    """
    _language.set(name if name in LANGUAGES else "en")


@contextmanager
def speaking(name: str) -> Iterator[None]:
    """Speak a language for a while.

    Parameters
    ----------
    name : str
        One of ``LANGUAGES``.
    """
    token = _language.set(name if name in LANGUAGES else "en")
    try:
        yield
    finally:
        _language.reset(token)


def preferred(accept_language: str) -> str:
    """Language of ours that a browser likes best.

    Parameters
    ----------
    accept_language : str
        The header of that name.
    """
    ranked: list[tuple[float, str]] = []
    for position, entry in enumerate(accept_language.split(",")):
        tag, _, weight = entry.partition(";q=")
        try:
            rank = float(weight) if weight else 1.0
        except ValueError:
            rank = 0.0
        ranked.append((rank - position * 1e-6, tag.strip()[:2].casefold()))
    liked = [tag for _, tag in sorted(ranked, reverse=True) if tag in LANGUAGES]
    return liked[0] if liked else "en"


@cache
def catalogue(name: str) -> Catalog | None:
    """Messages of a language; ``None`` for English, which stands in the source."""
    if name == "en":
        return None
    from babel.messages.pofile import read_po

    file = resources.files("sunpantry.language").joinpath(f"locale/{name}/messages.po")
    with file.open("rb") as stream:
        return read_po(stream, locale=name)


def mark(message: str) -> str:
    """Mark a message for translation where it stands; it is translated when it is shown.

    Parameters
    ----------
    message : str
        In English.
    """
    return message


def gettext(message: str) -> str:
    """Say a message in the language chosen.

    Parameters
    ----------
    message : str
        In English, as it stands in the source.
    """
    known = catalogue(language())
    if known is None:
        return message
    found = known.get(message)
    text = found.string if found is not None else ""
    return text if isinstance(text, str) and text else message


def ngettext(one: str, many: str, count: float) -> str:
    """Say a message that depends on a count.

    Parameters
    ----------
    one, many : str
        In English, for one and for any other count.
    count : float
        The count.
    """
    known = catalogue(language())
    chosen = one if count == 1 else many
    if known is None:
        return chosen
    found = known.get(one)
    if found is None or not isinstance(found.string, tuple | list) or not all(found.string):
        return chosen
    return str(found.string[0 if count == 1 else 1])
