"""Parts that were chosen: kept between runs, and never asked twice of what was just chosen."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sunpantry.web import chosen, tasks
from sunpantry.web.answer import Answer
from sunpantry.web.chosen import Chosen
from sunpantry.web.desk import Desk, may_be_kept
from sunpantry.web.documents import choice_key
from sunpantry.web.settings import Settings

pytestmark = pytest.mark.regression

POWER_BANK = """
schema = 1
winters = 3
bank_voltage = "5 V"
[site]
latitude = 54.1
longitude = -9.2
[[load]]
name = "Phone"
energy_per_use = "15 Wh"
uses_per_week = 3
supply = "5 V"
power = "5 W"
"""


@pytest.fixture(scope="module")
def found() -> tasks.Found:
    """Parts chosen for a power bank."""
    result = tasks.search(POWER_BANK)
    assert isinstance(result, tasks.Found), result
    return result


def test_what_was_just_chosen_is_answered(found: tasks.Found) -> None:
    """A bank whose cells are of no system voltage, with its own document and a changed one."""
    assert found.system.bank_v == 5.0
    assert isinstance(tasks.answer(POWER_BANK, found), Answer)
    changed = POWER_BANK.replace("uses_per_week = 3", "uses_per_week = 2")
    told = tasks.glance(changed, found)
    assert not isinstance(told, tasks.Refused)
    assert told.kept


def test_a_choice_outlives_the_page(
    found: tasks.Found, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kept for this version alone; a damaged file is as if it were not there."""
    key = choice_key(POWER_BANK)
    kept = Chosen(tmp_path / "chosen")
    assert kept.look(key) is None
    kept.put(key, found)
    again = Chosen(tmp_path / "chosen").look(key)
    assert again is not None
    assert again.system == found.system
    monkeypatch.setattr(chosen, "made_by", lambda: "another version")
    assert kept.look(key) is None
    monkeypatch.undo()
    (tmp_path / "chosen" / f"{key}.choice").write_bytes(b"\x80\x04nonsense")
    assert kept.look(key) is None


def test_the_least_used_choices_go(
    found: tasks.Found, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder does not grow without end."""
    monkeypatch.setattr(chosen, "MOST_KEPT", 3)
    kept = Chosen(tmp_path)
    for number in range(5):
        kept.put(f"key{number}", replace(found, key=f"key{number}"))
    assert len(list(tmp_path.iterdir())) == 3


def test_a_choice_from_a_weather_file_is_not_kept() -> None:
    """The file can change without its document."""
    assert may_be_kept(POWER_BANK)
    assert not may_be_kept(POWER_BANK.replace("[[load]]", 'weather_file = "a.epw"\n[[load]]'))


class Quick:
    """A worker that does what it is asked to at once."""

    waiting = 0

    def __init__(self) -> None:
        self.answering = asyncio.Lock()

    def reset(self) -> None:
        """Nothing goes on."""

    ask_to_stop = close = reset

    async def run(self, work: Any, *arguments: Any, **how: Any) -> Any:
        """Do it."""
        del how
        return work(*arguments)


class Slow(Quick):
    """A worker that takes its time."""

    fraction = SimpleNamespace(value=0.25)

    def __init__(self) -> None:
        super().__init__()
        self.may_end = asyncio.Event()

    async def run(self, work: Any, *arguments: Any, **how: Any) -> Any:
        """Do it when it may."""
        del how
        await self.may_end.wait()
        return work(*arguments)


def desk_with(folder: Path, *, searcher: Slow, others: Quick) -> Desk:
    """A desk whose searches one worker does, and everything else another."""
    workers: Any = SimpleNamespace(
        searcher=searcher, trier=others, of=lambda _: others, close=lambda: None
    )
    return Desk(Settings(data_folder=folder), workers)


def in_a_thread(work: Coroutine[Any, Any, None]) -> None:
    """In one of its own: a browser of another test may keep a loop running in this one."""
    with ThreadPoolExecutor(1) as aside:
        aside.submit(asyncio.run, work).result()


def test_a_first_try_comes_before_the_search_ends(tmp_path: Path) -> None:
    """While parts are chosen, those of a few winters are shown, run through all of them and
    marked as a first try; then the best parts take their place."""
    text = POWER_BANK.replace("winters = 3", "winters = 8")

    async def go() -> None:
        quick, slow = Quick(), Slow()
        desk = desk_with(tmp_path, searcher=slow, others=quick)
        early = await desk.show("one", text, wait_s=0.05)
        assert (early.state, early.first, early.fraction) == ("working", True, 0.25)
        assert early.answer is not None
        assert early.answer.glance.winters == 8
        told = await desk.glance("one", text.replace("15 Wh", "14 Wh"))
        assert not isinstance(told, tasks.Refused | None)
        slow.may_end.set()
        late = await desk.show("one", text, wait_s=60.0)
        assert (late.state, late.first, late.fraction) == ("fresh", False, None)
        assert desk.chosen.look(choice_key(text)) is not None
        desk.close()

    in_a_thread(go())


class Stopped(Slow):
    """A search that ends with nothing."""

    async def run(self, work: Any, *arguments: Any, **how: Any) -> Any:
        """Wait, and have found nothing."""
        del work, arguments, how
        await self.may_end.wait()
        return tasks.Refused("stopped before anything was found")


def test_a_search_that_is_stopped_leaves_the_first_try(tmp_path: Path) -> None:
    """Stopped before it found parts of its own, the first try stays, and is called what it is."""
    text = POWER_BANK.replace("winters = 3", "winters = 8")

    async def go() -> None:
        quick, slow = Quick(), Stopped()
        desk = desk_with(tmp_path, searcher=slow, others=quick)
        assert (await desk.show("one", text, wait_s=0.05)).first
        desk.end_search("one")
        slow.may_end.set()
        await asyncio.sleep(0)
        late = await desk.show("one", text, wait_s=60.0)
        assert (late.state, late.fraction) == ("fresh", None)
        assert late.answer is not None
        assert "stopped" in late.answer.plan["search"]["words"]
        assert desk.chosen.look(choice_key(text)) is None, "it is not kept for another day"
        desk.search_again("one", text)
        assert "one" in desk.searches, "it may be gone on with"
        desk.close()

    in_a_thread(go())


def test_a_first_try_is_of_its_own_document(tmp_path: Path) -> None:
    """What was tried for another document is no answer to this one, and no dead end."""
    text = POWER_BANK.replace("winters = 3", "winters = 8")
    mains = text.replace("5 V", "mains").replace('bank_voltage = "mains"', 'bank_voltage = "12 V"')

    async def go() -> None:
        quick, slow = Quick(), Stopped()
        desk = desk_with(tmp_path, searcher=slow, others=quick)
        assert (await desk.show("one", text, wait_s=0.05)).first
        quick.waiting = 1  # no first try for what comes next
        desk.begin_search("one", mains)
        desk.end_search("one")
        slow.may_end.set()
        await asyncio.sleep(0.05)
        assert desk.choices.look(choice_key(mains)) is None
        # and if parts that do not go with a document were ever taken for its own: they go
        found = desk.firsts.look("one")
        assert found is not None
        desk.choices.put(choice_key(mains), replace(found.found, key="of something else"))
        assert (await desk.show("one", mains, wait_s=0.05)).refused is not tasks.ANEW
        assert desk.choices.look(choice_key(mains)) is None
        desk.close()

    in_a_thread(go())


def test_a_stop_at_the_first_moment_ends_the_search_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """An interrupt that left the worker would end the page itself."""
    stop, fraction = SimpleNamespace(value=1), SimpleNamespace(value=0.0)
    monkeypatch.setattr(tasks.Bench, "stop", stop)
    monkeypatch.setattr(tasks.Bench, "fraction", fraction)
    told = tasks.search(POWER_BANK)
    assert isinstance(told, tasks.Refused)
    assert "stopped" in told.words
    assert stop.value == 0
