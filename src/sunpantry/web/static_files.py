"""Files that never change under their address: the address holds a digest of them all."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from sunpantry import __version__

KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml; charset=utf-8",
    ".ttf": "font/ttf",
    ".webmanifest": "application/manifest+json",
}
CHART_LIBRARY = "chart-library.js"
FOR_EVER = "public, max-age=31536000, immutable"


@cache
def files() -> dict[str, bytes]:
    """Every shipped file by its name, the typeface of charts and sheets included."""
    found = {}
    for entry in resources.files("sunpantry.web").joinpath("static").iterdir():
        if any(entry.name.endswith(kind) for kind in KINDS):
            found[entry.name] = entry.read_bytes()
    from sunpantry.report.drawing import font_directory

    for weight in ("Regular", "Semibold"):
        name = f"SourceSansPro-{weight}.ttf"
        path = font_directory() / name
        if path.exists():
            found[name] = path.read_bytes()
    return found


@cache
def library_version() -> str:
    """Version of the chart renderer, whose wheel carries the library."""
    from importlib.metadata import version

    return version("vl-convert-python")


@cache
def stamp() -> str:
    """Digest of all files, part of the address of each."""
    digest = hashlib.sha256(f"{__version__}{library_version()}".encode())
    for name in sorted(files()):
        digest.update(name.encode())
        digest.update(files()[name])
    return digest.hexdigest()[:12]


@cache
def chart_library() -> bytes:
    """The drawing library for the browser, as the chart renderer's wheel carries it."""
    import vl_convert

    from sunpantry.sky.cache import cache_directory

    folder = cache_directory()
    kept = None if folder is None else folder / f"chart-library-{library_version()}.js"
    if kept is not None and kept.exists():
        return kept.read_bytes()
    made = vl_convert.javascript_bundle(None).encode()  # type: ignore[arg-type]
    if kept is not None:
        try:
            kept.parent.mkdir(parents=True, exist_ok=True)
            draft = kept.with_suffix(f".{id(made)}.part")
            draft.write_bytes(made)
            draft.replace(kept)
        except OSError:
            return made
    return made


def static_file(request: Request) -> Response:
    """Serve one file."""
    name = request.path_params["name"]
    content = chart_library() if name == CHART_LIBRARY else files().get(name)
    if content is None:
        raise HTTPException(404)
    kind = next(value for ending, value in KINDS.items() if name.endswith(ending))
    return Response(content, media_type=kind, headers={"cache-control": FOR_EVER})
