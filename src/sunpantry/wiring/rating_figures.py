"""Workings of the ratings of fuses, breakers and switches."""

from __future__ import annotations

from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase
from sunpantry.physics import protection as physics
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Device


def fuse_figure(
    device: Device,
    run: Run,
    *,
    kind: physics.Device,
    rating_a: float,
    fault_a: float | None,
    surge_borne: float,
) -> Figure:
    """Working of the rating of a fuse or breaker.

    Parameters
    ----------
    device, run
        The device and the cable it sits in, with its size.
    kind : str
        Kind of fuse or breaker.
    rating_a : float
        Its rating [A].
    fault_a : float or None
        Current of a short circuit at its place [A].
    surge_borne : float
        Multiple of its rating that the kind bears for a second [-].
    """
    duty = run.cable.duty
    if duty is None:
        raise ValueError(f"{run.cable.id} has a fuse and no duty")
    inputs = [
        Given("design current Ib", duty.design_a, "A"),
        Given("surge", duty.surge_a, "A"),
        Given("capacity of the cable Iz", run.capacity_a, "A"),
        Given(
            "conventional fusing current I2",
            physics.fusing_current_a(kind, rating_a),
            "A",
        ),
    ]
    if device.window_a is not None:
        inputs += [
            Given("least rating, 1.5 × Isc", device.window_a[0], "A"),
            Given("largest rating, 2.4 × Isc or the panel's limit", device.window_a[1], "A"),
        ]
        formula, source = (
            phrase("1.5 Isc ≤ In ≤ 2.4 Isc, In ≤ Iz, I2 ≤ 1.45 Iz"),
            "IEC 62548:2016 §6.3.5",
        )
    elif device.kind == "residual_breaker":
        formula, source = (
            phrase("Ib ≤ In ≤ Iz, surge ≤ 5 In"),
            phrase("IEC 60364-4-43, IEC 61009-1"),
        )
    else:
        formula = phrase("1.25 Ib ≤ In ≤ Iz, I2 ≤ 1.45 Iz, surge ≤ tolerance × In")
        source = phrase("IEC 60364-4-43 §433.1; margin of 1.25: common practice")
        inputs.append(Given("surge tolerance of the kind", surge_borne))
    if fault_a is not None:
        inputs.append(Given("short-circuit current at its place", fault_a, "A"))
    return Figure(
        phrase("rating of {id} ({name})", id=device.id, name=run.cable.name),
        rating_a,
        "A",
        formula,
        tuple(inputs),
        phrase("{source}, from memory", source=source),
    )


def switch_figure(device: Device, run: Run, rating_a: float, fuse_a: float) -> Figure:
    """Working of the rating of a switch.

    Parameters
    ----------
    device, run
        The switch and the cable it sits in.
    rating_a : float
        Its rating [A].
    fuse_a : float
        Rating of the fuse before it [A]; 0 where there is none.
    """
    duty = run.cable.duty
    return Figure(
        phrase("rating of {id} ({name})", id=device.id, name=run.cable.name),
        rating_a,
        "A",
        phrase("the next size sold from the lasting current, and from the fuse before it, up"),
        (
            Given("design current Ib", duty.design_a if duty else 0.0, "A"),
            Given("rating of the fuse before it", fuse_a, "A"),
        ),
        phrase("IEC 60947-3: rated current; usual sizes from memory"),
    )
