"""The design document: what must run, where, with which parts; typed and validated."""

from sunpantry.design.document import (
    design_document,
    design_from,
    design_json_schema,
    parse_design,
    read_design,
    write_design,
)
from sunpantry.design.models import Design, Load, Site

__all__ = [
    "Design",
    "Load",
    "Site",
    "design_document",
    "design_from",
    "design_json_schema",
    "parse_design",
    "read_design",
    "write_design",
]
