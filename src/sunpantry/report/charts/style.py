"""The look of all charts: two themes, one restrained configuration.

What differs is told by lightness, dash, shape and words that stand beside it, so that a
copy in black and white, and an eye that sees no red, read the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from sunpantry.errors import InputError
from sunpantry.phrases import Phrase, phrase
from sunpantry.report.numbers import Numbers
from sunpantry.sky.picture import SCHEMA
from sunpantry.sky.picture_sky import FAINT, INK, QUIET, SUN, WIDTH

ThemeName = Literal["light", "dark"]
Rows = list[dict[str, Any]]
Spec = dict[str, Any]

FONT = "Source Sans Pro"
FONTS = f"{FONT}, Helvetica, Arial, sans-serif"
# Characters of a title that fit into the width of a chart.
TITLE_CHARACTERS = 88
SOLID, DASHED, DOTTED = [1, 0], [7, 4], [2, 3]


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours by what they stand for.

    Parameters
    ----------
    paper, ink, quiet, faint, grid : str
        Ground, text, secondary text, lines, grid.
    sun, spilled, store, short : str
        What comes from the sun, what is not taken, what is in or out of the battery, what
        is missing.
    ramp : tuple of str
        From empty to full, falling in strength.
    band, band_core : str
        Outer and inner band of a spread.
    """

    paper: str
    ink: str
    quiet: str
    faint: str
    grid: str
    sun: str
    spilled: str
    store: str
    short: str
    ramp: tuple[str, ...]
    band: str
    band_core: str


THEMES: dict[ThemeName, Theme] = {
    "light": Theme(
        paper="#ffffff", ink=INK, quiet=QUIET, faint=FAINT, grid="#e9edf0",
        sun=SUN, spilled="#ecd9b4", store="#2f5d73", short="#9c2431",
        ramp=("#3c1a24", "#8d3b41", "#cf8a5d", "#ecd9b4", "#f7f5ee"),
        band="#d6e1e7", band_core="#a9c1cd",
    ),
    "dark": Theme(
        paper="#161c21", ink="#e9edf0", quiet="#a8b3bb", faint="#56626b", grid="#29323a",
        sun="#e2a04d", spilled="#6b5632", store="#86b8ce", short="#f3918b",
        ramp=("#ffd9c9", "#e8926f", "#a35a48", "#533a3d", "#222a31"),
        band="#25343d", band_core="#3a5360",
    ),
}  # fmt: skip


def theme_of(name: str) -> ThemeName:
    """Find a theme by its name.

    Parameters
    ----------
    name : str
        'light' or 'dark'.

    Raises
    ------
    InputError
        When there is none of that name.
    """
    for known in THEMES:
        if known == name:
            return known
    raise InputError.one("theme", name, "'light' or 'dark'", "choose one of them")


@dataclass(frozen=True)
class Chart:
    """One chart.

    Parameters
    ----------
    name : str
        Short, for file names and links: 'year-energy'.
    title : str
        The finding, in words.
    alt : str
        The same for those who cannot see it, with the numbers that carry it.
    spec : dict
        Vega-Lite 6 specification with all data inline.
    """

    name: str
    title: str
    alt: str
    spec: Spec


@dataclass(frozen=True)
class Pen:
    """What every chart is drawn with.

    Parameters
    ----------
    theme : Theme
        Colours.
    numbers : Numbers
        How numbers are written.
    hover : bool
        Whether lines carry their values for a pointer, which paper has no use for.
    """

    theme: Theme
    numbers: Numbers
    hover: bool = False

    def chart(
        self, name: str, title: str, alt: str, body: Spec, *, subtitle: tuple[str, ...] = ()
    ) -> Chart:
        """Finish a chart: schema, title, description, configuration.

        Parameters
        ----------
        name, title, alt
            See :class:`Chart`.
        body : dict
            Marks and encodings, without the title.
        subtitle : tuple of str
            How to read it, with units; a line each.
        """
        title, alt = self.numbers.told(title), self.numbers.told(alt)
        spec = {
            "$schema": SCHEMA,
            "description": alt,
            "background": self.theme.paper,
            "padding": {"left": 4, "right": 12, "top": 8, "bottom": 8},
            "title": {"text": _wrapped(title), "subtitle": list(subtitle)},
            **body,
            "config": self._config(),
        }
        return Chart(name, title, alt, self._said(spec))

    def _said(self, part: Any) -> Any:
        """A part of a specification with its phrases in the language and numbers chosen."""
        if isinstance(part, Phrase):
            return self.numbers.told(part)
        if isinstance(part, dict):
            return {self._said(key): self._said(value) for key, value in part.items()}
        return [self._said(one) for one in part] if isinstance(part, list | tuple) else part

    def told(self, fields: Mapping[str, str]) -> Spec:
        """Encoding by which a mark tells its words to a pointer; nothing on paper.

        Parameters
        ----------
        fields : mapping of str to str
            Field and what it is called; all hold words.
        """
        if not self.hover:
            return {}
        listed = ({"field": one, "type": "nominal", "title": name} for one, name in fields.items())
        return {"tooltip": list(listed)}

    def across(self, rows: Rows, y: Spec, x: Spec, fields: Mapping[str, str]) -> list[Spec]:
        """An unseen bar as wide as the chart for every row: a short bar is hard to point at.

        Parameters
        ----------
        rows : list of dict
            With the field of ``y`` and those of ``fields``.
        y, x : dict
            Encodings of the bars; ``x`` with its domain.
        fields : mapping of str to str
            See :meth:`told`.
        """
        if not self.hover:
            return []
        low, high = x["scale"]["domain"]
        start = {key: value for key, value in x.items() if key != "field"} | {"datum": low}
        return [
            {
                "data": {"values": rows},
                "mark": {"type": "bar", "opacity": 0.001, "height": {"band": 1}},
                "encoding": {"y": y, "x": start, "x2": {"datum": high}, **self.told(fields)},
            }
        ]

    def hovered(self, rows: Rows, x: Spec, values: Mapping[str, str]) -> list[Spec]:
        """An unseen line for every place along a chart, that tells its values to a pointer.

        Parameters
        ----------
        rows : list of dict
            With the field of ``x``, a field ``date`` and those of ``values``.
        x : dict
            Encoding along the chart.
        values : mapping of str to str
            Field and what it is called; shown as percentages.
        """
        if not self.hover:
            return []
        told: list[Spec] = [{"field": "date", "type": "nominal", "title": phrase("day")}]
        told += [
            {"field": field, "type": "quantitative", "title": title, "format": ".0%"}
            for field, title in values.items()
        ]
        return [
            {
                "data": {"values": rows},
                "mark": {"type": "rule", "strokeWidth": 3, "opacity": 0.001},
                "encoding": {"x": x, "tooltip": told},
            }
        ]

    def _config(self) -> Spec:
        theme = self.theme
        return {
            "locale": self.numbers.chart_locale(),
            "font": FONTS,
            "view": {"stroke": None},
            "axis": {
                "labelColor": theme.quiet, "titleColor": theme.quiet, "labelFontSize": 12,
                "titleFontSize": 12, "titleFontWeight": "normal", "gridColor": theme.grid,
                "domainColor": theme.faint, "tickColor": theme.faint, "labelPadding": 4,
            },
            "legend": {
                "labelColor": theme.ink, "labelFontSize": 12, "titleColor": theme.quiet,
                "titleFontSize": 12, "titleFontWeight": "normal", "symbolStrokeWidth": 1.5,
            },
            "header": {
                "labelColor": theme.ink, "labelFontSize": 13, "titleColor": theme.quiet,
                "titleFontWeight": "normal", "labelFontWeight": "bold",
            },
            "title": {
                "anchor": "start", "frame": "bounds", "fontSize": 15, "fontWeight": "bold",
                "color": theme.ink, "subtitleFontSize": 12, "subtitleColor": theme.quiet,
                "offset": 12, "subtitlePadding": 5, "lineHeight": 19, "subtitleLineHeight": 16,
            },
            "text": {"color": theme.ink, "fontSize": 12},
        }  # fmt: skip


def _wrapped(text: str) -> list[str]:
    """One line, or two of nearly equal length: no word stands alone."""
    from textwrap import wrap

    lines = max(1, -(-len(text) // TITLE_CHARACTERS))
    width = min(TITLE_CHARACTERS, len(text) // lines + 8)
    return wrap(text, width, break_long_words=False, break_on_hyphens=False) or [""]


__all__ = [
    "DASHED", "DOTTED", "FONT", "SOLID", "THEMES", "WIDTH", "Chart", "Pen", "Rows", "Spec",
    "Theme", "ThemeName", "theme_of",
]  # fmt: skip
