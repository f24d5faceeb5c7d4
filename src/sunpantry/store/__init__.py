"""Saved designs: every save is a new version, nothing is ever overwritten."""

from sunpantry.store.database import default_url, open_store
from sunpantry.store.merge import Clash, Merged, merge_documents
from sunpantry.store.store import Store
from sunpantry.store.types import (
    ConflictError,
    NotFoundError,
    Saved,
    Step,
    StoreError,
    Summary,
    Version,
)

__all__ = [
    "Clash",
    "ConflictError",
    "Merged",
    "NotFoundError",
    "Saved",
    "Step",
    "Store",
    "StoreError",
    "Summary",
    "Version",
    "default_url",
    "merge_documents",
    "open_store",
]
