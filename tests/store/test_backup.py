"""All designs into one file and back."""

from __future__ import annotations

from pathlib import Path

import pytest

from sunpantry.errors import InputError
from sunpantry.store import Store, open_store
from sunpantry.store.backup import back_up, restore

pytestmark = pytest.mark.regression


def _fill(store: Store) -> str:
    design = store.create("a", name="Hut").design_id
    store.save(design, "b", base=1, name="Hut")
    store.undo(design, base=2)
    store.create("c", name="Other")
    return design


def test_round_trip_into_an_empty_store(store: Store, tmp_path: Path) -> None:
    """Every version, note and moment comes back, from either database."""
    design = _fill(store)
    copied = back_up(store, tmp_path / "all.backup")
    assert (copied.designs, copied.versions) == (2, 4)
    other = open_store(f"sqlite:///{tmp_path / 'other.sqlite'}")
    assert restore(other, tmp_path / "all.backup").versions == 4
    assert other.history(design) == store.history(design)
    assert other.designs() == store.designs()
    assert other.redo(design, base=3).document == "b", "the way forward came along"
    assert not [name for name in tmp_path.iterdir() if name.name.startswith(".")]
    other.close()


def test_restore_adds_and_never_changes(store: Store, tmp_path: Path) -> None:
    """Missing versions are added; what differs is put beside; twice is as good as once."""
    design = _fill(store)
    back_up(store, tmp_path / "first.backup")
    store.save(design, "newer", base=3, name="Hut")
    assert restore(store, tmp_path / "first.backup").versions == 0
    assert store.head(design).version.document == "newer"
    back_up(store, tmp_path / "second.backup")
    other = open_store(f"sqlite:///{tmp_path / 'other.sqlite'}")
    restore(other, tmp_path / "first.backup")
    other.save(design, "went another way", base=3, name="Hut")
    copied = restore(other, tmp_path / "second.backup")
    assert (copied.versions, copied.beside) == (4, 1)
    assert other.head(design).version.document == "went another way"
    assert len(other.designs()) == 3
    assert restore(other, tmp_path / "second.backup").versions == 0
    other.close()


def test_files_that_cannot_be_used(store: Store, tmp_path: Path) -> None:
    """Nothing is overwritten; what is no backup is said so."""
    taken = tmp_path / "taken"
    taken.write_text("something else")
    with pytest.raises(InputError, match="not there yet"):
        back_up(store, taken)
    with pytest.raises(InputError, match="backup` wrote"):
        restore(store, taken)
    with pytest.raises(InputError, match="can be read"):
        restore(store, tmp_path / "missing")
