"""Bring the message catalogues up to date with the templates and the code of the page.

python tools/messages.py          # writes locale/*/messages.po, keeps what is translated
python tools/messages.py --check  # says what is missing, changes nothing
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

WEB = Path(__file__).resolve().parent.parent / "src" / "sunpantry" / "web"
METHODS = [("**/templates/**.html", "jinja2"), ("**.py", "python")]
OPTIONS = {"**/templates/**.html": {"trimmed": "true", "newstyle_gettext": "true"}}
KEYWORDS = {"_": None, "gettext": None, "ngettext": (1, 2), "mark": None}


def wanted() -> Catalog:
    """Every message that the page can say."""
    catalogue = Catalog(project="Sunpantry", charset="utf-8")
    found = extract_from_dir(WEB, METHODS, OPTIONS, keywords=KEYWORDS)
    for name, _line, message, _comments, _context in sorted(found, key=lambda one: str(one[2])):
        catalogue.add(message, locations=[(Path(name).as_posix(), 0)])
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
    for path in sorted((WEB / "locale").glob("*/messages.po")):
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
