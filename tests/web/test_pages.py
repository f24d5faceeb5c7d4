"""Every page renders what its context documents, in every language."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass

import httpx
import pytest
from jinja2 import meta

from sunpantry.examples import examples
from sunpantry.language import LANGUAGES
from sunpantry.web import contexts
from sunpantry.web.render import environment

pytestmark = pytest.mark.regression


def names_used(template: str) -> set[str]:
    """Names a template takes from its context, with everything it includes or extends."""
    env = environment()
    source = env.loader.get_source(env, template)[0]  # type: ignore[union-attr]
    tree = env.parse(source)
    found = set(meta.find_undeclared_variables(tree))
    for other in meta.find_referenced_templates(tree):
        if other is not None:
            found |= names_used(other)
    return found


def names_set(template: str) -> set[str]:
    """Names that a template, or one it includes, gives itself."""
    import re

    env = environment()
    source = env.loader.get_source(env, template)[0]  # type: ignore[union-attr]
    found = set(re.findall(r"{%-? (?:set|with|import \S+ as|macro) ?(\w+)", source))
    for other in meta.find_referenced_templates(env.parse(source)):
        if other is not None:
            found |= names_set(other)
    return found | {"_", "ngettext", "gettext", "frame", "range", "namespace", "caller", "none"}


@pytest.mark.parametrize("page", contexts.PAGES, ids=lambda one: one.__name__)
def test_template_takes_exactly_the_documented_fields(page: type) -> None:
    """Rendered keys equal the fields of the context, and each field is documented."""
    assert is_dataclass(page)
    documented = {one.name for one in fields(page)}
    template = str(page.template)  # type: ignore[attr-defined]
    assert names_used(template) - names_set(template) == documented - names_set(template)
    assert documented <= names_used(template), "a field that nothing shows"
    for name in documented:
        assert name in str(page.__doc__), f"{page.__name__}.{name} has no description"


def test_first_page_asks_and_offers(client: httpx.Client) -> None:
    """One question, every shipped situation, and a way to open a file."""
    text = client.get("/").text
    assert text.count("<h1>") == 1
    for one in examples():
        assert f"/start/{one.name}" in text
    assert 'type="file"' in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_pages_in_every_language(
    client: httpx.Client, new_design: Callable[..., str], language: str
) -> None:
    """Each page renders and says which language it is in."""
    design = new_design()
    paths = ["/", "/glossary", "/compare", "/unlock", f"/compare?left={design}:1&right={design}"]
    paths += [f"/designs/{design}{more}" for more in ("", "/history", "/text", "/workings")]
    for path in paths:
        reply = client.get(path, headers={"cookie": f"language={language}"})
        assert reply.status_code == 200, path
        assert f'<html lang="{language}"' in reply.text


def test_german_numbers_and_words(client: httpx.Client, new_design: Callable[..., str]) -> None:
    """The verdict, the headings and the decimal comma."""
    headers = {"cookie": "language=de"}
    text = client.get(f"/designs/{new_design()}", headers=headers).text
    assert "Was laufen muss" in text
    assert "12,0" in text or "0,6" in text or "1,2" in text or ",5" in text
    assert "What must run" not in text


def test_browser_language_is_respected(client: httpx.Client) -> None:
    """By the weights of the header (RFC 9110, section 12.5.4)."""
    heads = {"de-AT,de;q=0.9,en;q=0.8": "de", "fr,en;q=0.5,de;q=0.4": "en", "": "en", "x;q=z": "en"}
    for header, language in heads.items():
        text = client.get("/", headers={"accept-language": header}).text
        assert f'<html lang="{language}"' in text


def test_us_units(
    client: httpx.Client, new_design: Callable[..., str], answered: Callable[[str], str]
) -> None:
    """Feet for lengths where a reader wants them."""
    design = new_design()
    answered(design)
    text = client.get(f"/designs/{design}", headers={"cookie": "units=us"}).text
    assert re.search(r"ft(</a>)? above the sea", text)


def test_unknown_things_are_told_in_the_one_shape(client: httpx.Client) -> None:
    """As a page for people and as JSON for programs."""
    page = client.get("/designs/0000000000000000")
    assert page.status_code == 404
    assert "<h1>" in page.text
    told = client.get("/api/designs/0000000000000000").json()
    assert told["error"]["code"] == "not_found"
    assert client.get("/nowhere").status_code == 404
    assert client.put("/compare").status_code == 405


def test_names_are_escaped_everywhere(client: httpx.Client, new_design: Callable[..., str]) -> None:
    """A design called like a script stays a name."""
    evil = "<script>alert(1)</script>\"'"
    text = 'schema = 1\nname = """<b>x</b>"""\n[site]\nlatitude = 54\nlongitude = -9\n'
    design = new_design(text, evil)
    for path in ("/", f"/designs/{design}/history", f"/designs/{design}", "/compare"):
        assert "<script>alert" not in client.get(path).text


def test_charts_speak_the_readers_language(
    client: httpx.Client, new_design: Callable[..., str]
) -> None:
    """Titles on the page and in the specification; no address is shared between languages."""
    design, found = new_design(), {}
    for language in ("en", "de"):
        page = client.get(f"/designs/{design}/pictures", headers={"cookie": f"language={language}"})
        assert page.status_code == 200
        address = re.search(r'data-spec="([^"]*)"', page.text)
        assert address is not None
        where = html.unescape(address[1])
        told = client.get(where, headers={"cookie": f"language={language}"}).json()
        assert html.escape(told["alt"], quote=False)[:40] in page.text
        found[language] = where, told["title"]
    assert found["en"][0] != found["de"][0]
    assert "December" in found["en"][1]
    assert "Dezember" in found["de"][1]
