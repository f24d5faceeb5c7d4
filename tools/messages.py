"""Bring the message catalogues up to date with everything that a person reads.

python tools/messages.py          # writes locale/*/messages.po, keeps what is translated
python tools/messages.py --check  # says what is missing, changes nothing
python tools/messages.py --pot    # writes the untranslated messages to the standard output

Messages stand in templates (read by Babel) and in the code, where they are found by the
function they are given to: ``phrase``, ``phrases``, ``mark``, ``gettext``, and the places
of a working (``Figure``, ``Given``, ``worked``) and of a rule.
"""

from __future__ import annotations

import ast
import io
import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from sunpantry.web.situations import situations

PACKAGE = Path(__file__).resolve().parent.parent / "src" / "sunpantry"
LOCALES = PACKAGE / "language" / "locale"
TEMPLATES = [("**/templates/**.html", "jinja2")]
OPTIONS = {"**/templates/**.html": {"trimmed": "true", "newstyle_gettext": "true"}}
# Which arguments of which call are messages: places, and names.
CALLS: dict[str, tuple[tuple[int, ...], tuple[str, ...]]] = {
    "phrase": ((0,), ()),
    "mark": ((0,), ()),
    "_": ((0,), ()),
    "gettext": ((0,), ()),
    "Given": ((0, 1, 2), ("name", "value", "unit")),
    "Figure": ((0, 2, 3, 5), ("name", "unit", "formula", "source")),
    "worked": ((0, 2, 3, 4), ("name", "unit", "formula", "source")),
    "rule": ((), ("source",)),
    "Finding": ((1, 8), ("sentence", "source")),
    "Duty": ((5, 7), ("formula", "source")),
    "Field": ((), ("description",)),
    "Protection": ((), ("reason", "place")),
    "fuse_branch": ((), ("reason", "place")),
}
PLURALS = ("phrases", "ngettext")
# Units and signs that every language writes alike.
_SIGNS = re.compile(
    r"\{[^{}]*\}|(?<![^\W\d_])(?:m?W|kWh?|Wh|m?A|Ah|m?V|mm²|cm²|m²|m³|mm|cm|km|m|kg|L|h|s|K|°C|DC|Voc"
    r"|Isc|Vmp|Imp|Ib|In|Iz|I2|[xVPIQηρ])(?![^\W\d_])|[^\W\d_](?![^\W\d_])(?<![^\W\d_].)"
)

Named = Mapping[str, list[str]]
Found = tuple[str | tuple[str, str], str]


def needs_words(message: str) -> bool:
    """Whether there is anything to translate: words, the parts of a date, a sign of percent."""
    if ("{day}" in message and "{month}" in message) or "}%" in message:
        return True
    return bool(re.search(r"[^\W\d_]{2,}", _SIGNS.sub(" ", message)))


def _texts(node: ast.expr | None, named: Named) -> Iterator[str]:
    """Constant texts that an expression can be: by name, and both branches of a choice."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.Name):
        yield from named.get(node.id, ())
    elif isinstance(node, ast.IfExp):
        yield from _texts(node.body, named)
        yield from _texts(node.orelse, named)


def _named(tree: ast.Module) -> Named:
    """Texts that a module gives a name to."""
    named: dict[str, list[str]] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant | ast.IfExp):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    named.setdefault(target.id, []).extend(_texts(node.value, {}))
    return named


def _called(node: ast.Call) -> str:
    if isinstance(node.func, ast.Name):
        return node.func.id
    return node.func.attr if isinstance(node.func, ast.Attribute) else ""


def _of_call(node: ast.Call, named: Named) -> Iterator[str | tuple[str, str]]:
    name = _called(node)
    if name in PLURALS and len(node.args) >= 2:
        one, many = (next(_texts(arg, named), "") for arg in node.args[:2])
        if one:
            yield one, many
    places, names = CALLS.get(name, ((), ()))
    for place in places:
        if place < len(node.args):
            yield from _texts(node.args[place], named)
    for keyword in node.keywords:
        if keyword.arg in names:
            yield from _texts(keyword.value, named)
    if name == "worked":
        for given in node.args[5:]:
            if isinstance(given, ast.Tuple):
                for part in given.elts:
                    yield from _texts(part, named)


def in_code() -> Iterator[Found]:
    """Messages in the code, and the module each stands in."""
    trees = {
        path.relative_to(PACKAGE).as_posix(): ast.parse(path.read_text("utf-8"))
        for path in sorted(PACKAGE.rglob("*.py"))
    }
    shared: dict[str, list[str]] = {}
    for tree in trees.values():
        shared |= {name: texts for name, texts in _named(tree).items() if name.isupper()}
    for where, tree in trees.items():
        named = {**shared, **_named(tree)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                for message in _of_call(node, named):
                    yield message, where


def in_templates() -> Iterator[Found]:
    """Messages in the templates of the page."""
    found = extract_from_dir(PACKAGE / "web", TEMPLATES, OPTIONS)
    for name, _line, message, _comments, _context in found:
        if isinstance(message, tuple):
            yield (str(message[0]), str(message[1])), f"web/{Path(name).as_posix()}"
        else:
            yield message, f"web/{Path(name).as_posix()}"


def in_situations() -> Iterator[Found]:
    """Titles and first sentences of the shipped designs, as the first page offers them."""
    for one in situations():
        yield one.title, f"examples/{one.name}.toml"
        yield one.teaches, f"examples/{one.name}.toml"


def wanted() -> Catalog:
    """Every message that a face can say."""
    catalogue = Catalog(project="Sunpantry", charset="utf-8")
    found = [*in_templates(), *in_code(), *in_situations()]
    for message, where in sorted(found, key=lambda one: (str(one[0]), one[1])):
        first = message if isinstance(message, str) else message[0]
        if needs_words(first):
            catalogue.add(message, locations=[(where, 0)])
    return catalogue


def missing(catalogue: Catalog) -> list[str]:
    """Messages without a translation."""
    gone = []
    for message in catalogue:
        if not message.id:
            continue
        said = message.string if isinstance(message.string, tuple | list) else (message.string,)
        if not all(said) or message.fuzzy:
            gone.append(str(message.id))
    return gone


def updated(path: Path, template: Catalog) -> Catalog:
    """A catalogue with the messages of today and the translations it has."""
    locale = path.parent.name
    if path.exists():
        with path.open("rb") as stream:
            catalogue = read_po(stream, locale=locale)
    else:
        catalogue = Catalog(locale=locale, project="Sunpantry", charset="utf-8")
    catalogue.update(template, no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    catalogue.fuzzy = False
    return catalogue


def text_of(catalogue: Catalog) -> bytes:
    """The catalogue as a file, without dates: the same whenever it is written."""
    out = io.BytesIO()
    write_po(out, catalogue, sort_output=True, include_lineno=False, omit_header=False, width=100)
    lines = out.getvalue().decode().splitlines()
    dropped = (
        *("POT-Creation-Date", "PO-Revision-Date", "Generated-By", "Report-Msgid-Bugs-To"),
        *("Last-Translator", "Language-Team", "Project-Id-Version"),
    )
    kept = [line for line in lines if not any(word in line for word in dropped)]
    return ("\n".join(kept) + "\n").encode()


def main() -> int:
    """Write the catalogues, or check them."""
    template, status = wanted(), 0
    if "--pot" in sys.argv:
        sys.stdout.buffer.write(text_of(template))
        return 0
    for path in sorted(LOCALES.glob("*/messages.po")):
        catalogue = updated(path, template)
        if "--check" not in sys.argv:
            path.write_bytes(text_of(catalogue))
        gone = missing(catalogue)
        print(f"{path.parent.name}: {len(catalogue)} messages, {len(gone)} not translated")
        for message in gone:
            print(f"    {message}")
        status = status or int(bool(gone))
    return status


if __name__ == "__main__":
    sys.exit(main())
