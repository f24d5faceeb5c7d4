"""The wave that an inverter makes, against what hangs on it."""

from __future__ import annotations

from sunpantry.match.case import Case, LoadFacts
from sunpantry.match.changes import other_inverter
from sunpantry.match.finding import Finding, Said, Severity, rule
from sunpantry.match.load_measures import MAINS, on_supply
from sunpantry.match.sources import PRACTICE
from sunpantry.phrases import phrase

SINE_WISHED = ("motor", "electronics")
HEATER_STARTS = 1.05


def _on_modified_sine(case: Case) -> bool:
    inverter = case.system.inverter
    return inverter is not None and inverter.waveform != "sine"


def motors_on_modified_sine(case: Case) -> bool:
    """Whether a motor is to run on a modified sine wave."""
    return _on_modified_sine(case) and any(_has_motor(load) for load in on_supply(case, MAINS))


def _has_motor(load: LoadFacts) -> bool:
    """A motor, or a heater that starts harder than it heats: a washing machine with its drum."""
    turns = load.kind == "heater" and load.start_w > HEATER_STARTS * load.power_w
    return load.kind == "motor" or turns


@rule(
    "modified-sine",
    asks="Do motors, chargers or electronics run on a modified sine wave?",
    limit="a sine inverter for motors and electronics",
    source=PRACTICE,
    worst=Severity.WILL_NOT_WORK,
    breaks=motors_on_modified_sine,
)
def modified_sine(case: Case) -> Said:
    """Motors run hot and hum or never start, some chargers and clocks fail."""
    if not _on_modified_sine(case):
        return
    touchy = [
        load for load in on_supply(case, MAINS) if load.kind in SINE_WISHED or _has_motor(load)
    ]
    names = ", ".join(load.name for load in touchy)
    if motors_on_modified_sine(case):
        severity = Severity.WILL_NOT_WORK
        words = phrase(
            "The inverter makes a modified sine wave. A compressor, a pump or a drum may not "
            "start on it, or hums, runs hot and soon burns out; a motor with brushes, as in a "
            "drill, runs hotter and weaker. On it hang: {names}.",
            names=names,
        )
    elif touchy:
        severity = Severity.WILL_DISAPPOINT
        words = phrase(
            "The inverter makes a modified sine wave. Some chargers and electronics fail on it "
            "or grow hot: {names}.",
            names=names,
        )
    else:
        severity = Severity.WORTH_KNOWING
        words = phrase(
            "The inverter makes a modified sine wave: good for lamps and heat, not for motors."
        )
    yield Finding(
        severity,
        words,
        ("inverter", "loads"),
        options=tuple(
            other_inverter(case, phrase("Take a sine inverter of the same size."), waveform="sine")
        ),
    )
