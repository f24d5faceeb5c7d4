"""Compile the plain C loop and run it on the kernel's own arrays."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from sunpantry.simulate import layout
from sunpantry.timegrid import FloatArray

SOURCE = Path(__file__).parent / "kernel.c"
FLAGS = ("-O3", "-march=native", "-shared", "-fPIC", "-std=c11")

CLoop = Callable[[tuple[np.ndarray, ...], float], tuple[FloatArray, FloatArray]]


def compiler() -> str | None:
    """A C compiler, if there is one."""
    return next((name for name in ("cc", "gcc", "clang") if shutil.which(name)), None)


def header() -> str:
    """Column numbers for C, from the module that the kernel reads them from."""
    return "\n".join(
        f"#define {name} {value}"
        for name, value in sorted(vars(layout).items())
        if name.isupper() and isinstance(value, int)
    )


def build() -> CLoop | None:
    """Compile; ``None`` without a compiler.

    Returns
    -------
    callable
        Takes the arrays of a kernel call in its order and the step [h], and gives back
        totals and yearly.
    """
    program = compiler()
    if program is None:
        return None
    folder = Path(tempfile.mkdtemp(prefix="c-loop-"))
    (folder / "layout.h").write_text(header() + "\n", "utf-8")
    made = folder / "kernel.so"
    command = [program, *FLAGS, f"-I{folder}", str(SOURCE), "-o", str(made), "-lm"]
    subprocess.run(command, check=True)
    entry = ctypes.CDLL(str(made)).run_designs
    entry.restype = None
    shutil.rmtree(folder)

    def run(arrays: tuple[np.ndarray, ...], step_h: float) -> tuple[FloatArray, FloatArray]:
        designs, _, sun, place, _, curves, cells, loads, _, _, _, allowed = arrays[:12]
        years = cells.shape[1] // place.size
        totals = np.zeros((len(designs), layout.TOTAL_COLUMNS))
        yearly = np.zeros((len(designs), years, layout.YEAR_COLUMNS))
        sizes = (
            len(designs),
            years,
            place.size,
            sun.shape[2] // years,
            curves.shape[1],
            loads.shape[1],
        )
        entry(
            *(ctypes.c_int64(size) for size in sizes),
            *(
                ctypes.c_void_p(array.ctypes.data)
                for array in (designs, sun, place, curves, cells, loads, allowed)
            ),
            ctypes.c_double(step_h),
            ctypes.c_void_p(totals.ctypes.data),
            ctypes.c_void_p(yearly.ctypes.data),
        )
        return totals, yearly

    return run
