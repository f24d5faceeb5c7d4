"""``sunpantry open``, ``backup`` and ``restore``: the page, and the designs it saves."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunpantry.errors import InputError

if TYPE_CHECKING:
    from sunpantry.store import Store
    from sunpantry.web.settings import Settings

StoreUrl = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="URL",
        help="Where designs are saved: sqlite:///FILE or postgresql://…; your own file by default.",
    ),
]


def open_page(
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = 8321,
    host: Annotated[
        str, typer.Option(help="Address; any but this machine's own demands a token to write.")
    ] = "127.0.0.1",
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="HOST", help="A host name the page may be called by."),
    ] = None,
    design: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A design to begin with.")
    ] = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the browser.")
    ] = True,
    store: StoreUrl = None,
    token: Annotated[
        str | None,
        typer.Option(envvar="SUNPANTRY_TOKEN", help="The token; made up when left out."),
    ] = None,
) -> None:
    """Open the page: the whole job in a browser, on this machine."""
    import secrets

    from sunpantry.store import open_store
    from sunpantry.web.serving import serve
    from sunpantry.web.settings import Settings, is_loopback

    if not is_loopback(host):
        token = token or secrets.token_urlsafe(16)
    settings = Settings(host=host, port=port, token=token, names=tuple(name or ()))
    saved = open_store(store)
    try:
        path = "/" if design is None else _begin_with(saved, design, settings)
        serve(settings, saved, path=path, browser=browser, say=typer.echo)
    finally:
        saved.close()


def _begin_with(store: Store, file: Path, settings: Settings) -> str:
    """Save a file as a design, unless it is the current version of one already."""
    from sunpantry.web.documents import accept_text

    try:
        text = file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError.one(
            "--design", file, "a design file that can be read", str(error)
        ) from None
    design, text = accept_text(text, settings, source=file.name)
    for one in store.designs():
        if one.name == design.name and store.head(one.design_id).version.document == text:
            return f"/designs/{one.design_id}"
    return f"/designs/{store.create(text, name=design.name, note=file.name).design_id}"


def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write.")],
    store: StoreUrl = None,
) -> None:
    """Write all saved designs, with all their versions, into one file."""
    from sunpantry.store import open_store
    from sunpantry.store.backup import back_up

    saved = open_store(store)
    try:
        copied = back_up(saved, file)
    finally:
        saved.close()
    typer.echo(f"Wrote {copied.designs} designs with {copied.versions} versions to {file}.")


def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A file `backup` wrote.")],
    store: StoreUrl = None,
) -> None:
    """Add the designs of a backup to the saved ones. Nothing that is there is changed."""
    from sunpantry.store import open_store
    from sunpantry.store.backup import restore as bring_back

    saved = open_store(store)
    try:
        copied = bring_back(saved, file)
    finally:
        saved.close()
    typer.echo(f"Added {copied.versions} versions of {copied.designs} designs.")
    if copied.beside:
        typer.echo(
            f"{copied.beside} of them had gone another way here, and were put beside as designs "
            "of their own."
        )
