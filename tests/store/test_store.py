"""Saving, stepping back and forward, and two people at once."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sunpantry.errors import InputError
from sunpantry.store import ConflictError, NotFoundError, Step, Store, StoreError, open_store
from sunpantry.store.database import LATEST, make_engine

pytestmark = pytest.mark.regression


def test_every_save_is_a_new_version(store: Store) -> None:
    """Older versions stay readable, word for word, with the time in UTC."""
    first = store.create("a = 1\n", name="Hut", note="from an example")
    second = store.save(first.design_id, "a = 2\n", base=1, name="Hut", note="brighter")
    assert (first.number, second.number) == (1, 2)
    assert store.version(first.design_id, 1).document == "a = 1\n"
    assert store.head(first.design_id).version == second
    assert [one.number for one in store.history(first.design_id)] == [2, 1]
    assert second.saved_at.tzinfo is not None
    assert abs(second.saved_at - datetime.now(UTC)) < timedelta(minutes=1)


def test_nothing_new_makes_no_version(store: Store) -> None:
    """Saving what is there already adds nothing to the history."""
    first = store.create("a = 1\n", name="Hut")
    assert store.save(first.design_id, "a = 1\n", base=1, name="Hut") == first


def test_second_tab_is_told_and_loses_nothing(store: Store) -> None:
    """A save on an old base is refused, with all three documents at hand."""
    first = store.create("a = 1\n", name="Hut")
    store.save(first.design_id, "a = 2\n", base=1, name="Hut")
    with pytest.raises(ConflictError, match="version 2 has been saved since") as caught:
        store.save(first.design_id, "a = 3\n", base=1, name="Hut")
    conflict = caught.value
    assert (conflict.base.document, conflict.current.document) == ("a = 1\n", "a = 2\n")
    assert conflict.document == "a = 3\n"
    merged = store.save(first.design_id, conflict.document, base=2, name="Hut", step=Step.MERGED)
    assert merged.number == 3


def test_undo_and_redo_walk_the_states(store: Store) -> None:
    """Back twice, forward twice; every step is itself a version."""
    design = store.create("0", name="n").design_id
    for number in (1, 2):
        store.save(design, str(number), base=number, name="n")
    walked = [store.undo(design, base=3), store.undo(design, base=4)]
    assert [one.document for one in walked] == ["1", "0"]
    assert store.head(design).undo_to is None
    assert store.undo(design, base=5).number == 5, "nothing before the first"
    walked = [store.redo(design, base=5), store.redo(design, base=6)]
    assert [one.document for one in walked] == ["1", "2"]
    assert store.head(design).redo_to is None
    assert len(store.history(design)) == 7


def test_an_edit_after_undo_forgets_the_way_forward_but_not_the_work(store: Store) -> None:
    """Redo is gone, the undone version is still in the history and can be taken up again."""
    design = store.create("0", name="n").design_id
    store.save(design, "lost?", base=1, name="n")
    store.undo(design, base=2)
    store.save(design, "other", base=3, name="n")
    assert store.head(design).redo_to is None
    back = store.return_to(design, 2, base=4)
    assert (back.document, back.step) == ("lost?", Step.RETURNED)
    assert store.undo(design, base=5).document == "other"


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(moves=st.lists(st.sampled_from(["edit", "undo", "redo"]), max_size=14))
def test_undo_behaves_like_a_list_of_states(moves: list[str]) -> None:
    """Any sequence of moves ends where the textbook list with a cursor ends."""
    store = open_store("sqlite://")
    design = store.create("0", name="n").design_id
    states, at, base = ["0"], 0, 1
    for number, move in enumerate(moves, start=1):
        if move == "edit":
            states, at = [*states[: at + 1], str(number)], at + 1
            base = store.save(design, str(number), base=base, name="n").number
        elif move == "undo":
            at = max(at - 1, 0)
            base = store.undo(design, base=base).number
        else:
            at = min(at + 1, len(states) - 1)
            base = store.redo(design, base=base).number
        assert store.head(design).version.document == states[at]
    store.close()


def test_of_many_savers_at_once_exactly_one_wins(store: Store) -> None:
    """Eight threads save from the same base: one version, seven clear refusals."""
    design = store.create("0", name="n").design_id
    barrier, outcomes = threading.Barrier(8), list[str]()

    def save(number: int) -> None:
        barrier.wait()
        try:
            store.save(design, f"by {number}", base=1, name="n")
            outcomes.append("saved")
        except ConflictError:
            outcomes.append("refused")

    threads = [threading.Thread(target=save, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["refused"] * 7 + ["saved"]
    assert store.head(design).version.number == 2


def test_list_duplicate_remove_and_bring_back(store: Store) -> None:
    """A removed design leaves the list, not the store."""
    first = store.create("a", name="Hut")
    copy = store.duplicate(first.design_id, name="Hut, with a bigger panel")
    assert copy.document == "a"
    assert {one.name for one in store.designs()} == {"Hut", "Hut, with a bigger panel"}
    store.remove(first.design_id)
    assert [one.design_id for one in store.designs()] == [copy.design_id]
    assert store.head(first.design_id).version.document == "a"
    store.bring_back(first.design_id)
    assert len(store.designs()) == 2


def test_links_cannot_be_guessed_and_can_be_ended(store: Store) -> None:
    """The secret has at least 128 bits, is not stored, and stops working when ended."""
    design = store.create("a", name="Hut").design_id
    secret = store.share(design)
    assert len(secret) >= 22
    assert store.shared(secret) == design
    assert store.links(design) == 1
    assert store.end_sharing(design) == 1
    with pytest.raises(NotFoundError, match="leads nowhere"):
        store.shared(secret)


def test_missing_things_are_named(store: Store) -> None:
    """No such design, no such version."""
    with pytest.raises(NotFoundError, match="no design nowhere"):
        store.head("nowhere")
    design = store.create("a", name="Hut").design_id
    with pytest.raises(NotFoundError, match="no version 9"):
        store.version(design, 9)


def test_tables_of_a_newer_program_are_left_alone(store_url: str) -> None:
    """An older program says so instead of writing."""
    open_store(store_url).close()
    engine = make_engine(store_url)
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    engine.dispose()
    with pytest.raises(StoreError, match="newer Sunpantry"):
        open_store(store_url)


def test_migrations_make_the_tables_the_code_expects(store_url: str) -> None:
    """What Alembic would still change is nothing, and the latest revision is the one named."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    from sunpantry.store.tables import Base

    store = open_store(store_url)
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert context.get_current_revision() == LATEST
        assert compare_metadata(context, Base.metadata) == []
    store.close()


def test_urls_that_cannot_be_used() -> None:
    """The message says which kinds there are."""
    with pytest.raises(InputError, match="sqlite:///FILE or postgresql"):
        open_store("mysql://somewhere/else")
    with pytest.raises(StoreError, match="cannot be opened"):
        open_store("postgresql://nobody@127.0.0.1:1/nothing")
