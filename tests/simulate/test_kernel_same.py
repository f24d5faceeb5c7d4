"""The kernel gives the same numbers however it is run."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numba
import numpy as np
import pytest
from tests.simulate import mixed
from tests.simulate.rig import Told, run

from sunpantry.simulate import kernel, kernel_build
from sunpantry.simulate import layout as at

ROOT = Path(__file__).resolve().parents[2]


def assert_same(one: Told, other: Told) -> None:
    """Equal to the last bit."""
    assert mixed.hexadecimal(one) == mixed.hexadecimal(other)


# The other computation is the interpreter running the same text without the compiler.
@pytest.mark.independent
def test_compiled_and_interpreted_agree_to_the_last_bit() -> None:
    plain = subprocess.run(
        [sys.executable, "-m", "tests.simulate.mixed"],
        cwd=ROOT,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    compiled = mixed.told()
    assert plain.stdout.splitlines() == mixed.hexadecimal(compiled)
    # The case must reach what it is there for.
    totals, yearly = compiled.totals, compiled.yearly[:, 0]
    assert (totals[:, at.T_FROZEN_H] > 0).any()
    assert (totals[:, at.T_TRIPS] > 0).any()
    assert (totals[:, at.T_GAS] > 0).any()
    assert (yearly[:, at.Y_BACKUP_H] > 0).any()
    done_or_not, given_up = compiled.served[:, :2], compiled.served[:, 2:4]
    assert (given_up > 0).any()
    assert (done_or_not > given_up).any()


@pytest.mark.independent
def test_threads_do_not_matter() -> None:
    rows, models = mixed.designs()
    sun, cold = mixed.weather()
    loads = np.full((1, cold.size, at.LOAD_COLUMNS), 1.5)
    before = numba.get_num_threads()
    if before < 2:
        pytest.skip("one thread only")
    results = []
    try:
        for threads in (1, 2):
            numba.set_num_threads(threads)
            results.append(run(rows * 5, sun=sun, loads=loads, models=models, cell_c=cold))
    finally:
        numba.set_num_threads(before)
    assert_same(*results)


# A battery that fades is run year by year: without fading nothing may change by that. The
# loads are those of ten days, so that a year begins in the midst of them.
@pytest.mark.independent
@pytest.mark.parametrize("years", [2, 5, 10])
def test_broken_off_and_gone_on(years: int) -> None:
    whole = mixed.told(years=years)
    assert_same(mixed.told(years=years, year_by_year=True), whole)
    assert (whole.yearly[:, 1:, at.Y_ASKED] > 0.0).all()


@pytest.mark.independent
def test_neighbours_do_not_matter() -> None:
    rows, models = mixed.designs()
    sun, cold = mixed.weather()
    loads = np.full((1, cold.size, at.LOAD_COLUMNS), 1.5)
    assert kernel.GROUP > 1
    together = run(rows, sun=sun, loads=loads, models=models, cell_c=cold)
    for number, lone in enumerate(rows):
        alone = run([lone], sun=sun, loads=loads, models=models, cell_c=cold)
        np.testing.assert_array_equal(alone.totals[0], together.totals[number])
        np.testing.assert_array_equal(alone.traces[0], together.traces[number])


@pytest.mark.analytic
def test_a_broken_promise_stops_one_design_only() -> None:
    rows, models = mixed.designs()
    sun, cold = mixed.weather()
    loads = np.zeros((1, cold.size, at.LOAD_COLUMNS))
    loads[:, :, at.L_DC] = 6.0
    whole = run(rows, sun=sun, loads=loads, models=models, cell_c=cold)
    hours = whole.yearly[:, 0, at.Y_HOURS]
    allowed = float(np.median(hours))
    some = run(
        rows, sun=sun, loads=loads, models=models, cell_c=cold,
        allowed_h=np.array([allowed, -1.0, -1.0]),
    )  # fmt: skip
    stopped = some.totals[:, at.T_STOPPED] > 0.0
    np.testing.assert_array_equal(stopped, hours > allowed)
    assert 0 < stopped.sum() < len(rows)
    np.testing.assert_array_equal(some.totals[~stopped], whole.totals[~stopped])
    assert (some.yearly[stopped, 0, at.Y_HOURS] > allowed).all()
    assert np.abs(some.residual()).max() < 1e-9


@pytest.mark.regression
def test_fingerprint_follows_the_sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "sunpantry"
    real = Path(kernel_build.__file__).parent
    for file in [*real.glob("kernel*.py"), real / "layout.py"]:
        copy = package / "simulate" / file.name
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(file.read_bytes())
    (package / "physics").mkdir()
    for name in ("battery_step.py", "compiled.py"):
        source = real.parent / "physics" / name
        (package / "physics" / name).write_bytes(source.read_bytes())
    monkeypatch.setattr(kernel_build, "__file__", str(package / "simulate" / "kernel_build.py"))
    before = kernel_build.sources_fingerprint()
    with (package / "physics" / "battery_step.py").open("a") as helper:
        helper.write("# changed\n")
    assert kernel_build.sources_fingerprint() != before
