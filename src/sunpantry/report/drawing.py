"""Chart specifications drawn as SVG or PNG, with the typeface that all paper uses."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any


def font_directory() -> Path:
    """Where the typeface of charts and sheets lies, as installed."""
    import font_source_sans_pro

    return Path(str(font_source_sans_pro.__file__)).parent / "files"


@cache
def _drawer() -> Any:
    """The drawing library, told once where the typeface is."""
    import vl_convert

    vl_convert.register_font_directory(str(font_directory()))
    return vl_convert


def draw(spec: dict[str, Any], ending: str, *, words: str = "") -> bytes:
    """Draw a chart.

    Parameters
    ----------
    spec : dict
        Vega-Lite specification with all data inline.
    ending : str
        'svg' or 'png'.
    words : str
        Description that an SVG carries for reading programs.

    Returns
    -------
    bytes
        Content of the file.
    """
    drawer = _drawer()
    if ending == "png":
        return bytes(drawer.vegalite_to_png(spec, scale=2.0, allowed_base_urls=[]))
    svg = str(drawer.vegalite_to_svg(spec, allowed_base_urls=[]))
    return with_words(_named(svg), words).encode()


def _named(svg: str) -> str:
    """Name what is referred to inside a drawing by its content.

    The drawing library counts on from drawing to drawing, so that equal charts would differ;
    and several drawings may stand on one page, so that equal names would get mixed up.
    """
    import re
    import zlib

    names = list(dict.fromkeys(re.findall(r"\b(?:clip|gradient_)\d+\b", svg)))
    for number, name in enumerate(names):
        svg = re.sub(rf"\b{name}\b", f"ref-{number}", svg)
    mark = f"{zlib.crc32(svg.encode()):08x}"
    return re.sub(r"\bref-(\d+)\b", rf"ref-{mark}-\1", svg)


def with_words(svg: str, words: str) -> str:
    """Give a drawing a role and a description that reading programs find.

    Parameters
    ----------
    svg : str
        The drawing.
    words : str
        What it shows; nothing is added when empty.
    """
    from xml.sax.saxutils import escape

    if not words:
        return svg
    head, rest = svg.split(">", 1)
    return f'{head} role="img"><desc>{escape(words)}</desc>{rest}'
