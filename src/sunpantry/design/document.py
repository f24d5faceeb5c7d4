"""The document as text: TOML in, with every problem told at once, and TOML out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from sunpantry.design.checks import table_problems
from sunpantry.design.cross_checks import cross_problems, name_problems
from sunpantry.design.keys import human_key
from sunpantry.design.kit import own_keys
from sunpantry.design.models import Design
from sunpantry.design.problems import explain, model_in, where
from sunpantry.design.rules import Draft, Entry
from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase

MAX_CHARACTERS = 2_000_000
_PLACEHOLDERS: dict[str, Any] = {"name": "(unnamed)"}


def parse_design(
    text: str,
    *,
    source: str = "design.toml",
    part_names: Mapping[str, Sequence[str]] | None = None,
    load_names: Sequence[str] | None = None,
    place_names: Sequence[str] | None = None,
) -> Design:
    """Read a design document.

    Parameters
    ----------
    text : str
        TOML.
    source : str
        Name of the file, for messages about its syntax.
    part_names : mapping of str to sequence of str, optional
        Names of the parts list by role (panel, battery, controller, inverter,
        converter); a part that is on none of them is a problem.
    load_names, place_names : sequence of str, optional
        Names of the library of loads and of places, likewise.

    Returns
    -------
    Design
        Valid in itself.

    Raises
    ------
    InputError
        With every problem of the document at once.
    """
    return design_from(
        _toml(text, source),
        part_names=part_names,
        load_names=load_names,
        place_names=place_names,
    )


def design_from(
    raw: Mapping[str, Any],
    *,
    part_names: Mapping[str, Sequence[str]] | None = None,
    load_names: Sequence[str] | None = None,
    place_names: Sequence[str] | None = None,
) -> Design:
    """Read a design from a document that is already taken apart (from JSON or a form).

    Parameters and errors are those of :func:`parse_design`; ``raw`` has the same keys
    as the TOML document.

    Parameters
    ----------
    raw : mapping
        The document.
    part_names, load_names, place_names : optional
        Lists of names to check against.

    Returns
    -------
    Design
        Valid in itself.

    Raises
    ------
    InputError
        With every problem at once.
    """
    document = dict(raw) if "site" in raw else {**raw, "site": {}}
    problems: list[Problem] = []
    try:
        design = Design.model_validate(document)
    except ValidationError as error:
        design = None
        problems = [explain(one, Design) for one in error.errors(include_url=False)]
    draft = _draft(document)
    problems += table_problems(draft)
    problems += cross_problems(draft)
    problems += name_problems(
        draft, part_names=part_names, load_names=load_names, place_names=place_names
    )
    if problems or design is None:
        raise InputError(sorted(problems, key=_order(document)))
    return design


def _order(document: Mapping[str, Any]) -> Callable[[Problem], tuple[int, int]]:
    """Sort problems as their tables stand in the document."""
    keys = list(document)

    def order(problem: Problem) -> tuple[int, int]:
        found = re.match(r"([^.\[]+)(?:\[(\d+)\])?", problem.where)
        key, position = (found[1], int(found[2] or 0)) if found else ("", 0)
        return (keys.index(key) if key in keys else len(keys), position)

    return order


def read_design(
    path: str | Path,
    *,
    part_names: Mapping[str, Sequence[str]] | None = None,
    load_names: Sequence[str] | None = None,
    place_names: Sequence[str] | None = None,
) -> Design:
    """Read a design document from a file; see :func:`parse_design`.

    Parameters
    ----------
    path : str or Path
        The file.
    part_names, load_names, place_names : optional
        Lists of names to check against.

    Returns
    -------
    Design
        Valid in itself.

    Raises
    ------
    InputError
        With every problem at once, also when the file cannot be read.
    """
    file = Path(path)
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise InputError.one(
            "file",
            file,
            phrase("a design file that exists"),
            phrase("`sunpantry new FILE` writes one"),
        ) from None
    except UnicodeDecodeError:
        raise InputError.one(
            "file", file, phrase("text in UTF-8"), phrase("save it as UTF-8 text")
        ) from None
    except OSError as error:
        raise InputError.one(
            "file", file, phrase("a file that can be read"), str(error.strerror or error)
        ) from None
    return parse_design(
        text,
        source=file.name,
        part_names=part_names,
        load_names=load_names,
        place_names=place_names,
    )


def _toml(text: str, source: str) -> dict[str, Any]:
    if len(text) > MAX_CHARACTERS:
        raise InputError.one(
            source,
            f"{len(text)} characters",
            phrase("at most {max_characters}", max_characters=MAX_CHARACTERS),
            phrase("shorten it"),
        )
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        raise InputError([_syntax(str(error), text, source)]) from None
    except ValueError:  # of the interpreter, which reads no whole number of thousands of digits
        raise InputError.one(
            source, "(text)", phrase("numbers of fewer digits"), phrase("shorten the longest")
        ) from None
    except RecursionError:
        raise InputError.one(
            source, "(text)", phrase("tables less deeply nested"), phrase("flatten it")
        ) from None


def _syntax(message: str, text: str, source: str) -> Problem:
    found = re.search(r"at line (\d+), column (\d+)", message)
    reason = message.split(" (at ", maxsplit=1)[0]
    lines = text.splitlines()
    if found is None:
        number = max(len(lines), 1)
        place = f"{source}, line {number} (end)"
    else:
        number = int(found[1])
        place = f"{source}, line {number}, column {found[2]}"
    line = lines[number - 1].strip() if number <= len(lines) else ""
    remedy = "texts, times and quantities go in quotes"
    if "overwrite" in reason or "twice" in reason:
        remedy = "keep one of the two"
    return Problem(
        place, line or "(nothing)", phrase("not readable as TOML: {reason}", reason=reason), remedy
    )


def _draft(document: Mapping[str, Any]) -> Draft:
    """Read every table that can be read, whatever is wrong with the others."""
    entries: dict[str, tuple[Entry, ...]] = {}
    unread = set()
    kinds = _table_kinds()
    for key, raw in document.items():
        name = own_keys(Design).get(key, "")
        if name not in kinds:
            continue
        listed = isinstance(raw, list | tuple)
        rows = raw if listed else [raw]
        read = []
        for position, row in enumerate(rows):
            path = (key, position) if listed else (key,)
            entry = _entry(kinds[name], row, where(path))
            if entry is None:
                unread.add(name)
            else:
                read.append(entry)
        if read:
            entries[name] = tuple(read)
    return Draft(entries, _bank_voltage(document), frozenset(unread))


def _entry(model: type[BaseModel], raw: object, at: str) -> Entry | None:
    if not isinstance(raw, Mapping):
        return None
    row, broken = dict(raw), set[str]()
    for _ in range(2):
        try:
            return Entry(at, model.model_validate(row), frozenset(broken))
        except ValidationError as error:
            keys = own_keys(model)
            for one in error.errors(include_url=False):
                attribute, row = _without(row, str(one["loc"][0]), keys)
                broken.add(attribute)
    return None


def _without(row: dict[str, Any], key: str, keys: Mapping[str, str]) -> tuple[str, dict[str, Any]]:
    """Take a key out; the figures of a label, which stand in the same table, all go together."""
    attribute = keys.get(key, key)
    if key == "label":
        return attribute, {one: value for one, value in row.items() if one in keys}
    rest = {one: value for one, value in row.items() if one != key}
    if attribute in _PLACEHOLDERS:
        rest[human_key(attribute)] = _PLACEHOLDERS[attribute]
    return attribute, rest


def _table_kinds() -> dict[str, type[BaseModel]]:
    found = {name: model_in(field.annotation) for name, field in Design.model_fields.items()}
    return {name: model for name, model in found.items() if model is not None}


def _bank_voltage(document: Mapping[str, Any]) -> float | None:
    given = [document[key] for key in ("bank_voltage", "bank_voltage_v") if key in document]
    try:
        probe = Design.model_validate({"site": {}, "bank_voltage": given[0]}) if given else None
    except ValidationError:
        return None
    return probe.bank_voltage_v if probe else None


def design_json_schema() -> dict[str, Any]:
    """JSON schema of the document.

    Returns
    -------
    dict
        JSON schema (draft 2020-12), by the keys a person writes.
    """
    return Design.model_json_schema(by_alias=True)


def design_document(design: Design) -> dict[str, Any]:
    """Take a design apart into the keys and values of its document.

    Parameters
    ----------
    design : Design
        The design.

    Returns
    -------
    dict
        What :func:`design_from` reads back to an equal design. What was never set is
        left out.
    """
    whole = design.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude_none=True)
    return {"schema": 1, "name": design.name, **whole}


def write_design(design: Design) -> str:
    """Write a design as TOML.

    Parameters
    ----------
    design : Design
        The design.

    Returns
    -------
    str
        Text that :func:`parse_design` reads back to an equal design. Comments of the
        document it came from are lost, values are not.
    """
    lines: list[str] = []
    _write_table(design_document(design), (), lines)
    return "\n".join(lines).strip() + "\n"


def _write_table(table: Mapping[str, Any], path: tuple[str, ...], lines: list[str]) -> None:
    """Write a table: its plain keys first, then the tables below it."""
    below: list[tuple[str, Any]] = []
    for key, value in table.items():
        nested = _is_rows(value) or (isinstance(value, Mapping) and not path)
        if nested:
            below.append((key, value))
        else:
            lines.append(f"{_key(key)} = {_value(value)}")
    for key, value in below:
        inner = (*path, key)
        header = ".".join(_key(step) for step in inner)
        rows = value if _is_rows(value) else [value]
        brackets = "[[{}]]" if _is_rows(value) else "[{}]"
        for row in rows:
            lines += ["", brackets.format(header)]
            _write_table(row, inner, lines)


def _is_rows(value: object) -> bool:
    return isinstance(value, list | tuple) and bool(value) and isinstance(value[0], Mapping)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(one) for one in value)}]"
    import tomli_w

    return tomli_w.dumps({"v": value}).removeprefix("v = ").removesuffix("\n")


def _key(key: str) -> str:
    import tomli_w

    return tomli_w.dumps({key: 0}).removesuffix(" = 0\n")
