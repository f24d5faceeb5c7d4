"""Validation errors told in words: the key as it stands in the file, and what to do."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from sunpantry.design.keys import human_key
from sunpantry.design.kit import PartChoice, own_keys
from sunpantry.errors import Problem
from sunpantry.language import mark
from sunpantry.phrases import phrase
from sunpantry.units import Quantity

MISSING = "(missing)"
Path = tuple[int | str, ...]

# What is allowed, for the faults that carry no limits of their own.
_KINDS = {
    "int_type": mark("a whole number, without quotes or unit"),
    "int_from_float": mark("a whole number"),
    "int_parsing": mark("a whole number"),
    "float_type": mark("a number"),
    "float_parsing": mark("a number"),
    "string_type": mark("a text in quotes"),
    "string_too_short": mark("a text that is not empty"),
    "string_too_long": mark("a text of at most {max_length} characters"),
    "string_pattern_mismatch": mark("a text of the form {pattern}"),
    "bool_type": mark("true or false"),
    "tuple_type": mark("a list in square brackets"),
    "dict_type": mark("a table of its own"),
    "model_type": mark("a table of its own"),
    "greater_than": mark("more than {gt}"),
    "greater_than_equal": mark("at least {ge}"),
    "less_than": mark("less than {lt}"),
    "less_than_equal": mark("at most {le}"),
}
_PATTERNS = {
    r"\S": mark("a text that is not empty"),
    "^[A-Z]{3}$": mark('three capital letters such as "EUR"'),
}


# Keys that people write for one that has another name here.
_MEANINGS: dict[str, tuple[str, ...]] = {
    "power": ("power", "rated"),
    "power_w": ("power", "rated"),
    "watts": ("power", "rated"),
    "current": ("current", "rated"),
    "amps": ("current", "rated"),
    "volts": ("voltage", "nominal"),
}


def where(path: Path) -> str:
    """Write the place of a key as a person sees it: the second ``[[load]]`` is ``load[2]``.

    Parameters
    ----------
    path : tuple of str or int
        Keys and positions (from 0) from the top of the document.

    Returns
    -------
    str
        Dotted, positions counted from 1.
    """
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        elif step != "label":
            text += f".{step}" if text else step
    return text or "(document)"


def shown(value: object) -> str:
    """Write a value about as the person wrote it, on one short line."""
    if isinstance(value, Mapping):
        return "{…}"
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except ValueError:  # the interpreter writes no whole number of thousands of digits
        return "…"
    return text if len(text) <= 80 else text[:77] + "…"


def close_match(word: str, known: Iterable[str]) -> str | None:
    """Find the known word most like one that is not known, or None."""
    lower = {one.lower(): one for one in known}
    found = difflib.get_close_matches(word.lower(), list(lower), n=1, cutoff=0.6)
    return lower[found[0]] if found else None


def unknown_name(
    at: str, value: str, known: Sequence[str], *, what: str, otherwise: str
) -> Problem:
    """Problem of a name that is on no list.

    Parameters
    ----------
    at : str
        Key.
    value : str
        Name as written.
    known : sequence of str
        Names there are.
    what : str
        Plain words for the list ('the parts list').
    otherwise : str
        What to do when nothing is like it.

    Returns
    -------
    Problem
        With the closest match as the remedy.
    """
    match = close_match(value, known)
    remedy = phrase('did you mean "{match}"?', match=match) if match else otherwise
    return Problem(at, shown(value), phrase("a name from {what}", what=what), remedy)


def explain(error: ErrorDetails, root: type[BaseModel], path: Path = ()) -> Problem:
    """Turn one validation error into a problem a person can mend.

    Parameters
    ----------
    error : ErrorDetails
        From the validation library.
    root : type
        Model that was validated.
    path : tuple
        Where that model stands in the document.

    Returns
    -------
    Problem
        Key, value, what is allowed, what to do.
    """
    location = error["loc"]
    at = where(path + location)
    kind = error["type"]
    if kind == "extra_forbidden":
        return _unknown_key(error, root, path)
    field = _field_at(root, location)
    if kind == "missing":
        key = str(location[-1])
        return Problem(
            at,
            MISSING,
            _allowed(field) or phrase("needed"),
            phrase("add a line {key} = …", key=key),
        )
    value = shown(error["input"])
    context = error.get("ctx", {})
    if kind == "quantity":
        return Problem(at, value, _text(context["allowed"]), _quantity_remedy(field, context))
    if kind == "literal_error":
        expected = str(context["expected"])
        if location == ("schema",):
            return Problem(
                at, value, phrase("1, the version that is read here"), phrase("write schema = 1")
            )
        words = re.findall(r"'([^']*)'", expected)
        measured = any(letter.isdigit() for letter in str(error["input"]))
        match = None if measured else close_match(str(error["input"]), words)
        remedy = (
            phrase('did you mean "{match}"?', match=match)
            if match
            else phrase("choose one of these")
        )
        return Problem(at, value, expected.replace("'", '"'), remedy)
    if kind in ("tuple_type", "list_type") and isinstance(error["input"], Mapping):
        return Problem(
            at,
            value,
            phrase("a list of tables, for there may be several"),
            phrase("write it in two pairs of brackets: [[{key}]]", key=location[-1]),
        )
    told = _KINDS.get(kind)
    if kind == "string_pattern_mismatch":
        told = _PATTERNS.get(str(context["pattern"]), told)
    allowed = error["msg"] if told is None else phrase(told, **context)
    return Problem(
        at, value, allowed, phrase("change the value, or leave the key out for the default")
    )


def _quantity_remedy(field: FieldInfo | None, context: Mapping[str, Any]) -> str:
    why = context.get("why")
    if why is None:
        return phrase("change the value")
    if "unit" not in str(why) and "measure" not in str(why):
        return _text(why)
    quantity = _quantity_of(field)
    unit = quantity.unit if quantity else ""
    if not unit or "such as" in str(why):
        return _text(why)
    return phrase('{why}; write it like "5 {unit}"', why=_text(why), unit=unit)


def _text(told: object) -> str:
    """A phrase stays one; anything else becomes a text."""
    return told if isinstance(told, str) else str(told)


def _unknown_key(error: ErrorDetails, root: type[BaseModel], path: Path) -> Problem:
    *parents, key = error["loc"]
    at = where(path + error["loc"])
    value = shown(error["input"])
    model = _model_at(root, tuple(parents)) or root
    keys = dict(own_keys(model))
    if issubclass(model, PartChoice):
        keys = {**own_keys(model.label_type()), **keys}
        keys.pop("label", None)
    plain = sorted({human for human in keys if human == _spelling(model, keys[human], human)})
    if str(key) in keys:
        twin = _spelling(model, keys[str(key)], str(key))
        return Problem(
            at, value, phrase("{twin} is given already", twin=twin), phrase("keep one of the two")
        )
    table = where(path + tuple(parents))
    match = _of_like_meaning(str(key), plain) or close_match(str(key), plain)
    remedy = (
        phrase('did you mean "{match}"?', match=match)
        if match
        else phrase("take it out; known here: {names}", names=", ".join(plain))
    )
    return Problem(at, value, phrase("no such key in {table}", table=table), remedy)


def _of_like_meaning(key: str, known: Sequence[str]) -> str | None:
    """Find the key that a label calls by another word, or None."""
    meant = _MEANINGS.get(key.lower().replace("-", "_"), ())
    return next((one for one in meant if one in known), None)


def _spelling(model: type[BaseModel], name: str, key: str) -> str:
    field = model.model_fields.get(name)
    if field is None:
        return human_key(name) if key != name else human_key(key)
    return str(field.validation_alias or human_key(name))


def _model_at(root: type[BaseModel], location: Path) -> type[BaseModel] | None:
    model: type[BaseModel] | None = root
    for step in location:
        if isinstance(step, int):
            continue
        if model is None:
            return None
        if step == "label" and issubclass(model, PartChoice):
            model = model.label_type()
            continue
        name = own_keys(model).get(step)
        model = model_in(model.model_fields[name].annotation) if name else None
    return model


def model_in(annotation: Any) -> type[BaseModel] | None:
    """The table an annotation holds, alone, optional or in a tuple; None when it holds none."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in get_args(annotation):
        if (found := model_in(argument)) is not None:
            return found
    return None


def _field_at(root: type[BaseModel], location: Path) -> FieldInfo | None:
    keys = [step for step in location if isinstance(step, str)]
    for cut in range(len(location), 0, -1):
        last = location[cut - 1]
        if not isinstance(last, str):
            continue
        model = _model_at(root, location[: cut - 1])
        name = own_keys(model).get(last) if model else None
        if model and name:
            return model.model_fields[name]
    return root.model_fields.get(keys[0]) if keys else None


def _quantity_of(field: FieldInfo | None) -> Quantity | None:
    if field is None:
        return None
    found = [one for one in field.metadata if isinstance(one, Quantity)]
    return found[0] if found else _nested_quantity(field.annotation)


def _nested_quantity(annotation: Any) -> Quantity | None:
    for one in (*getattr(annotation, "__metadata__", ()), *get_args(annotation)):
        if isinstance(one, Quantity):
            return one
        if not isinstance(one, type) and (found := _nested_quantity(one)) is not None:
            return found
    return None


def _allowed(field: FieldInfo | None) -> str:
    if field is None:
        return ""
    if quantity := _quantity_of(field):
        return quantity.limits()
    if get_origin(field.annotation) is Literal:
        words = ", ".join(f'"{word}"' for word in get_args(field.annotation))
        return phrase("one of {words}", words=words)
    return field.description or (phrase("a text in quotes") if field.annotation is str else "")
