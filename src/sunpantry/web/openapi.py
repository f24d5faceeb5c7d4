"""What the JSON interface takes and gives, as an OpenAPI 3.1 document."""

from __future__ import annotations

from functools import cache
from typing import Any

from sunpantry import __version__
from sunpantry.design import design_json_schema

Schema = dict[str, Any]
_OBJECT: Schema = {"type": "object"}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/components/schemas/{name}"}


def _json(schema: Schema) -> Schema:
    return {"content": {"application/json": {"schema": schema}}}


def _replies(words: str, schema: Schema, *faults: str, status: str = "200") -> Schema:
    told = {"400": "something has to be mended", "404": "there is no such thing"}
    told |= {"401": "the token is needed", "409": "somebody else saved in the meantime"}
    told |= {"413": "too large", "422": "it cannot be answered", "202": "still being worked on"}
    told |= {"403": "from another site", "429": "too many changes", "503": "the store is away"}
    every = ("400", "401", "403", "404", "413", "429", "503", *faults)
    found: Schema = {status: {"description": words, **_json(schema)}}
    for code in every:
        what = _ref("State") if code == "202" else _ref("Fault")
        found[code] = {"description": told[code], **_json(what)}
    return found


def _body(schema: Schema) -> Schema:
    return {"required": True, **_json(schema)}


_ID: Schema = {
    "name": "design_id",
    "in": "path",
    "required": True,
    "schema": {"type": "string", "pattern": "^[0-9a-f]{16}$"},
}


def _list(key: str, item: Schema) -> Schema:
    return {
        "type": "object",
        "required": [key],
        "properties": {key: {"type": "array", "items": item}},
    }


@cache
def openapi_document() -> Schema:
    """Describe every route below /api.

    Returns
    -------
    dict
        OpenAPI 3.1.
    """
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Sunpantry",
            "version": __version__,
            "description": "The page's designs and plans as JSON. Errors have one shape.",
        },
        "servers": [{"url": "/api"}],
        "paths": {**_list_paths(), **_design_paths()},
        "components": {"schemas": _schemas()},
    }


def _list_paths() -> Schema:
    return {
        "/openapi.json": {"get": _get("This document", _OBJECT)},
        "/examples": {"get": _get("Situations to start from", _list("examples", _OBJECT))},
        "/loads": {"get": _get("Ordinary loads by group", _list("groups", _OBJECT))},
        "/parts": {"get": _get("The parts list by role", _OBJECT)},
        "/places": {
            "get": {
                **_get("Places of a name", _list("places", _OBJECT)),
                "parameters": [
                    {
                        "name": "q",
                        "in": "query",
                        "required": True,
                        "schema": {"type": "string", "maxLength": 200},
                    }
                ],
            }
        },
        "/check": {
            "post": {
                "summary": "Whether a document can be used",
                "requestBody": _body(_ref("NewDesign")),
                "responses": _replies("it can", _OBJECT),
            }
        },
    }


def _design_paths() -> Schema:
    base = _body(_ref("Base"))
    return {
        "/designs": {
            "get": _get("Saved designs, the last changed first", _list("designs", _OBJECT)),
            "post": {
                "summary": "Begin a design",
                "requestBody": _body(_ref("NewDesign")),
                "responses": _replies("begun", _ref("Version"), status="201"),
            },
        },
        "/designs/{design_id}": {
            "parameters": [_ID],
            "get": _get("The current version", _ref("Version")),
            "put": {
                "summary": "Save a new version",
                "requestBody": _body(_ref("ChangedDesign")),
                "responses": _replies("saved", _ref("Version"), "409"),
            },
        },
        "/designs/{design_id}/versions": {
            "parameters": [_ID],
            "get": _get("All versions, the newest first", _list("versions", _ref("Version"))),
        },
        **{
            f"/designs/{{design_id}}/{step}": {
                "parameters": [_ID],
                "post": {
                    "summary": words,
                    "requestBody": base,
                    "responses": _replies("done", _ref("Version"), "409"),
                },
            }
            for step, words in (("undo", "Step back"), ("redo", "Step forward"))
        },
        "/designs/{design_id}/plan": {
            "parameters": [_ID],
            "get": {
                "summary": "The plan of the current version",
                "parameters": [
                    {
                        "name": "wait_s",
                        "in": "query",
                        "schema": {"type": "number", "minimum": 0, "maximum": 30},
                    }
                ],
                "responses": _replies("the plan", _OBJECT, "422", "202"),
            },
        },
    }


def _get(words: str, schema: Schema) -> Schema:
    return {"summary": words, "responses": _replies(words, schema)}


def _schemas() -> Schema:
    design = design_json_schema()
    inner = design.pop("$defs", {})
    text = {"type": "string", "description": "the document as TOML"}
    base = {"type": "integer", "minimum": 1, "description": "version that was changed"}
    sent = {"anyOf": [{"required": ["text"]}, {"required": ["document"]}]}
    document = {"text": text, "document": _ref("Design")}
    return {
        **{name: _moved(schema) for name, schema in inner.items()},
        "Design": _moved(design),
        "NewDesign": {"type": "object", "properties": document, **sent},
        "ChangedDesign": {
            "type": "object",
            "properties": {**document, "base": base},
            "required": ["base"],
            **sent,
        },
        "Base": {"type": "object", "properties": {"base": base}, "required": ["base"]},
        "Version": {
            "type": "object",
            "required": ["id", "version", "name", "note", "step", "saved_at"],
            "properties": {
                "id": {"type": "string"},
                "version": {"type": "integer"},
                "name": {"type": "string"},
                "note": {"type": "string"},
                "step": {"type": "string"},
                "saved_at": {"type": "string"},
            },
        },
        "State": {"type": "object", "required": ["state", "version"]},
        "Fault": {
            "type": "object",
            "required": ["error"],
            "properties": {
                "error": {
                    "type": "object",
                    "required": ["code", "message", "problems"],
                    "properties": {
                        "code": {"type": "string"},
                        "message": {"type": "string"},
                        "problems": {"type": "array", "items": _ref("Problem")},
                    },
                }
            },
        },
        "Problem": {
            "type": "object",
            "required": ["where", "value", "allowed", "remedy"],
            "properties": {
                key: {"type": "string"} for key in ("where", "value", "allowed", "remedy")
            },
        },
    }


def _moved(schema: Any) -> Any:
    """Point references at the place schemas have in this document."""
    if isinstance(schema, dict):
        moved = {key: _moved(value) for key, value in schema.items()}
        if isinstance(moved.get("$ref"), str):
            moved["$ref"] = moved["$ref"].replace("#/$defs/", "#/components/schemas/")
        return moved
    if isinstance(schema, list):
        return [_moved(one) for one in schema]
    return schema
