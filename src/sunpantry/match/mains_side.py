"""Mains voltage: protection, earthing, and keeping out of the wiring of a house."""

from __future__ import annotations

from sunpantry.figures import Given
from sunpantry.match.case import Case
from sunpantry.match.finding import Finding, Remedy, Said, Severity, rule, worked
from sunpantry.match.sources import PRACTICE, RCD
from sunpantry.phrases import joined, phrase
from sunpantry.physics.safe_voltage import EXTRA_LOW_AC_V

RESIDUAL_CURRENT_A = 0.03


@rule(
    "residual-current",
    asks="Is a person protected on the mains side of the inverter?",
    limit="a 30 mA residual-current device, neutral joined to earth at one point",
    source=RCD,
    worst=Severity.WORTH_KNOWING,
)
def residual_current(case: Case) -> Said:
    """An inverter's output kills like any mains socket."""
    inverter = case.system.inverter
    if inverter is None or inverter.output_v <= EXTRA_LOW_AC_V:
        return
    yield Finding(
        Severity.WORTH_KNOWING,
        phrase(
            "The inverter's {output_v:g} V kill like any mains socket. Plug the appliances "
            "straight into it. Anything more (sockets, a residual-current device of 30 mA, "
            "joining neutral and earth at one point, an earth electrode) is work for a licensed "
            "electrician under the local code.",
            output_v=inverter.output_v,
        ),
        ("inverter", "protection"),
        (
            worked(
                "highest earth resistance that a 30 mA device covers",
                EXTRA_LOW_AC_V / RESIDUAL_CURRENT_A,
                "Ω",
                "touch limit / residual current",
                RCD,
                ("touch limit", EXTRA_LOW_AC_V, "V"),
                ("residual current", RESIDUAL_CURRENT_A, "A"),
            ),
        ),
        Given("residual current", RESIDUAL_CURRENT_A, "A"),
    )


def feeds_house(case: Case) -> bool:
    """Whether an inverter is meant to feed the fixed wiring of a house."""
    return case.system.inverter is not None and case.choices.feeds_house_wiring


@rule(
    "house-wiring",
    asks="Is the inverter kept out of the wiring of a house?",
    limit="no connection to fixed mains wiring",
    source=PRACTICE,
    worst=Severity.DANGER,
    breaks=feeds_house,
)
def house_wiring(case: Case) -> Said:
    """A plug with live pins, or a line that someone thinks dead, kills."""
    if case.system.inverter is None:
        return
    fed = feeds_house(case)
    words = phrase(
        "Never connect the inverter to the sockets or the wiring of a house: it can make "
        "plugs and lines live that people think dead, and burn when the mains comes back."
    )
    if fed:
        words += phrase(
            " If the house is to be fed, a licensed electrician must plan and build it, with a "
            "proper changeover switch."
        )
    elif case.choices.backup_transfers:
        words += phrase(
            " The one exception is the transfer switch, which a licensed electrician puts in "
            "between the two."
        )
    yield Finding(
        Severity.DANGER if fed else Severity.WORTH_KNOWING,
        words,
        ("inverter", "house"),
        options=(
            Remedy(
                phrase("Plug the appliances into the inverter's own sockets."),
                case.chosen(feeds_house_wiring=False),
            ),
        )
        if fed
        else (),
    )


@rule(
    "second-source",
    asks="Can the second source and the inverter meet?",
    limit="a charger on the battery, or a transfer switch that never joins both",
    source=PRACTICE,
    worst=Severity.WORTH_KNOWING,
)
def second_source(case: Case) -> Said:
    """Two sources on one line destroy each other."""
    kind = case.choices.backup
    if kind not in ("generator", "mains"):
        return
    words = TRANSFERS if case.choices.backup_transfers else _CHARGES[kind]
    yield Finding(
        Severity.WORTH_KNOWING,
        words if kind == "mains" else joined((words, OUTDOORS), " "),
        ("backup",),
    )


OUTDOORS = phrase("Run a generator outdoors only, away from doors: its fumes kill unnoticed.")
TRANSFERS = phrase(
    "A transfer switch gives the mains appliances to the other source when the battery is low. It "
    "must part from the one before it joins the other, in every conductor, neutral too, so that "
    "the two can never meet. The switch and all wiring on its mains side are work for a licensed "
    "electrician: do not open them yourself."
)
_CHARGES = {
    "mains": phrase(
        "The mains charge the battery through a charger that is plugged into a socket. They must "
        "never be joined to the inverter's output: never a lead with two plugs, and no change "
        "to the wiring of the house but by a licensed electrician."
    ),
    "generator": phrase(
        "The generator charges the battery through a charger that is plugged into its socket. It "
        "must never be joined to the inverter's output or to the wiring of a house."
    ),
}


RULES = (residual_current, house_wiring, second_source)
