"""The same charts for the width of a phone: read without sideways scrolling, letters as large."""

from __future__ import annotations

from typing import Any

from sunpantry.report.charts.style import Spec

# Pixels: of a plot under words that take the whole width, and of bars beside their names.
PLOT = 238
BARS = 96
ROW = 50
# Names of bars wider than this are broken into lines.
NAMES = 112
NAME_CHARACTERS = 19
TITLE_CHARACTERS = 38
SUBTITLE_CHARACTERS = 50
_WIDE = 200
# Vega's own expression language: break at spaces, and leave no empty line behind.
_BROKEN = (
    f"split(trim(replace(datum.label, regexp('(.{{1,{NAME_CHARACTERS}}})( |$)', 'g'), '$1\\n')),"
    " '\\n')"
)


def narrowed(spec: Spec) -> Spec:
    """Redraw a chart for a narrow screen.

    Plots side by side come to stand below each other, long lines are broken anew, names of
    bars take several lines, legends stand above, and months are written smaller.

    Parameters
    ----------
    spec : dict
        A specification of this room; it is left as it is.
    """
    made: Spec = _narrow(spec)
    config = dict(made.get("config", {}))
    config["axis"] = config.get("axis", {}) | {
        "labelFontSize": 11, "titleFontSize": 11, "labelOverlap": True,
    }  # fmt: skip
    made["config"] = config
    title = made.get("title")
    if isinstance(title, dict):
        made["title"] = title | _lines(title)
    return made


def _lines(title: dict[str, Any]) -> dict[str, list[str]]:
    from textwrap import wrap

    def anew(key: str, most: int) -> list[str]:
        told = title.get(key) or ""
        words = told if isinstance(told, str) else " ".join(told)
        return wrap(words, most, break_long_words=False, break_on_hyphens=False)

    return {
        "text": anew("text", TITLE_CHARACTERS),
        "subtitle": anew("subtitle", SUBTITLE_CHARACTERS),
    }


def _narrow(part: Any) -> Any:
    if isinstance(part, list):
        return [_narrow(one) for one in part]
    if not isinstance(part, dict):
        return part
    made = {
        "vconcat" if key == "hconcat" else key: value
        if key in {"data", "datasets", "config", "tooltip"}
        else _narrow(value)
        for key, value in part.items()
    }
    names = _axis_of_names(part)
    if isinstance(part.get("width"), int | float) and part["width"] > _WIDE:
        made["width"] = BARS if names else PLOT
        if names and isinstance(part.get("height"), dict):
            made["height"] = {"step": ROW}
    if "labelLimit" in made:
        made |= {"labelLimit": NAMES, "labelExpr": _BROKEN, "labelLineHeight": 12}
        made["labelOverlap"] = False
    if isinstance(across := made.get("y"), dict) and isinstance(across.get("axis"), dict):
        across["axis"].pop("labels", None)  # left out where they stood beside the plot before
    if isinstance(made.get("legend"), dict):
        made["legend"] = made["legend"] | {"orient": "top", "columns": 2}
    return made


def _axis_of_names(part: dict[str, Any]) -> bool:
    """Whether bars of a plot stand beside their names."""
    layers = part.get("layer") or [part]
    axes = (one.get("encoding", {}).get("y", {}).get("axis") for one in layers)
    return any(isinstance(axis, dict) and "labelLimit" in axis for axis in axes)
