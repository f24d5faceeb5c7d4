"""One module a family of pages: read the request, ask, render."""
