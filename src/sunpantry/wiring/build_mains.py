"""The mains side: the inverter, its sockets, and a second source behind a transfer switch."""

from __future__ import annotations

from sunpantry.design.nameplates import InverterNameplate
from sunpantry.phrases import phrase
from sunpantry.wiring import duty
from sunpantry.wiring.build_loads import MAINS_POLES, Outlets, load_way
from sunpantry.wiring.draft import SHORT_RUN_M, Draft, Port, Way
from sunpantry.wiring.graph import Cable
from sunpantry.wiring.inputs import WiringInputs


def inverter_head(draft: Draft, inputs: WiringInputs, outlets: Outlets) -> Way | None:
    """Add the inverter and its sockets; return the cable that is to feed it."""
    inverter = inputs.system.inverter
    if inverter is None:
        return None
    part = draft.part(
        "inverter",
        inverter.name,
        (("DC+", "+"), ("DC−", "−"), ("L", "L"), ("N", "N"), ("PE", "PE")),
        detail=phrase("{rated_w:g} W, sine wave", rated_w=inverter.rated_w)
        if inverter.waveform == "sine"
        else phrase("{rated_w:g} W, modified wave", rated_w=inverter.rated_w),
    )
    out = (*part.port("L"), *part.port("N"), *part.port("PE"))
    head = _sockets(draft, inputs, outlets, inverter)
    if inputs.transfer_w > 0.0:
        cable = _through_switch(draft, inputs, inverter, head, out)
    else:
        cable = draft.join(head, out)
    draft.device(
        "residual_breaker",
        cable,
        "start",
        place=phrase("at the inverter's output"),
        poles=("L", "N"),
        reason=phrase("cuts both poles on overload, and within 40 ms when current leaks to earth"),
    )
    return Way(
        "inverter",
        "inverter",
        phrase("Battery to inverter"),
        part.port("DC"),
        inputs.wiring.run_m("inverter"),
        duty.inverter_duty(inverter, inputs.system),
        outward=True,
    )


def _sockets(
    draft: Draft, inputs: WiringInputs, outlets: Outlets, inverter: InverterNameplate
) -> Way:
    """Add the mains appliances, several behind a board; return the cable that is to feed them."""
    ways = [
        load_way(
            draft,
            inputs,
            load,
            duty.mains_duty(
                load.power_w, load.surge_w, mains_v=inverter.output_v, role="mains_branch"
            ),
        )
        for load in outlets.mains
    ]
    if len(ways) == 1:
        return ways[0]
    board = draft.part("mains_board", phrase("Mains sockets"), MAINS_POLES)
    head = Way(
        "mains",
        "mains",
        phrase("Transfer switch to the sockets")
        if inputs.transfer_w > 0.0
        else phrase("Inverter to the sockets"),
        board.port(),
        SHORT_RUN_M,
        duty.mains_duty(
            max(inverter.rated_w, inputs.transfer_w),
            inverter.surge_w,
            mains_v=inverter.output_v,
            role="mains",
        ),
        outward=True,
    )
    for way in ways:
        draft.join(way, board.port())
    return head


def _through_switch(
    draft: Draft, inputs: WiringInputs, inverter: InverterNameplate, head: Way, out: Port
) -> Cable:
    """Put a transfer switch before ``head``; return the cable from the inverter to it."""
    generator = inputs.second_source == "generator"
    source = draft.part(
        "supply",
        phrase("Generator") if generator else phrase("Mains of the house"),
        MAINS_POLES,
        detail=phrase("{power_w:g} W", power_w=inputs.transfer_w)
        if generator
        else phrase("{power_w:g} W, a circuit of its own", power_w=inputs.transfer_w),
    )
    switch = draft.part(
        "transfer",
        phrase("Transfer switch"),
        [
            (f"{side}{pole}", polarity)
            for side in ("A ", "B ", "OUT ")
            for pole, polarity in MAINS_POLES
        ],
        detail=phrase("A or B, never both, all poles"),
    )
    mains_v = inverter.output_v
    way = Way(
        "mains",
        "inverter out",
        phrase("Inverter to the transfer switch"),
        switch.port("A "),
        SHORT_RUN_M,
        duty.mains_duty(inverter.rated_w, inverter.surge_w, mains_v=mains_v, role="mains"),
        outward=True,
    )
    cable = draft.join(way, out)
    supply = draft.cable(
        "supply",
        "supply",
        phrase("Other source to the transfer switch"),
        source.port(),
        switch.port("B "),
        length_m=inputs.wiring.run_m("backup"),
        duty=duty.mains_duty(inputs.transfer_w, 0.0, mains_v=mains_v, role="supply"),
    )
    draft.device(
        "residual_breaker",
        supply,
        "start",
        place=phrase("at the generator's output")
        if generator
        else phrase("in the board of the house, by a licensed electrician"),
        poles=("L", "N"),
        reason=phrase("the other source needs a breaker of its own: that of the inverter is idle"),
    )
    draft.join(head, switch.port("OUT "))
    return cable
