"""Putting two changes of one document together."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sunpantry.store import merge_documents

pytestmark = pytest.mark.regression

BASE: dict[str, Any] = {
    "name": "Hut",
    "site": {"latitude": 54.0, "longitude": -9.0},
    "load": [{"name": "Lamp", "power": "8 W"}, {"name": "Radio", "power": "5 W"}],
}


def test_changes_in_different_places_are_both_kept() -> None:
    """One moves the hut, one adds a load and brightens a lamp."""
    mine = {**BASE, "site": {"latitude": 55.0, "longitude": -9.0}}
    theirs = {
        **BASE,
        "load": [
            {"name": "Lamp", "power": "12 W"},
            {"name": "Radio", "power": "5 W"},
            {"name": "Pump", "power": "60 W"},
        ],
    }
    merged = merge_documents(BASE, mine, theirs)
    assert merged.clashes == ()
    assert merged.document == {**theirs, "site": mine["site"]}


def test_two_added_rows_are_both_there_and_a_removed_one_is_gone() -> None:
    """Rows are matched by name."""
    mine = {**BASE, "load": [BASE["load"][1], {"name": "Pump"}]}
    theirs = {**BASE, "load": [*BASE["load"], {"name": "Fan"}]}
    merged = merge_documents(BASE, mine, theirs)
    names = {row["name"] for row in merged.document["load"]}
    assert names == {"Radio", "Pump", "Fan"}
    assert merged.clashes == ()


def test_the_same_key_changed_twice_is_asked_about() -> None:
    """Mine stands until a person has decided; both values are shown."""
    mine = {**BASE, "name": "Bee hut"}
    theirs = {**BASE, "name": "Top hut"}
    merged = merge_documents(BASE, mine, theirs)
    assert merged.document["name"] == "Bee hut"
    (clash,) = merged.clashes
    assert (clash.where, clash.base, clash.mine, clash.theirs) == (
        "name",
        "Hut",
        "Bee hut",
        "Top hut",
    )


DOCUMENTS = st.dictionaries(
    st.sampled_from("abcd"),
    st.one_of(st.integers(0, 2), st.dictionaries(st.sampled_from("xy"), st.integers(0, 2))),
)


@given(base=DOCUMENTS, mine=DOCUMENTS, theirs=DOCUMENTS)
def test_laws_of_merging(
    base: dict[str, Any], mine: dict[str, Any], theirs: dict[str, Any]
) -> None:
    """With one side unchanged the other wins; the same change on both sides is no clash."""
    assert merge_documents(base, mine, base).document == mine
    assert merge_documents(base, base, theirs).document == theirs
    same = merge_documents(base, mine, mine)
    assert (same.document, same.clashes) == (mine, ())
    one, other = merge_documents(base, mine, theirs), merge_documents(base, theirs, mine)
    assert {clash.where for clash in one.clashes} == {clash.where for clash in other.clashes}
