"""Words of the trade in plain language, for whoever taps on one."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.language import gettext, mark


@dataclass(frozen=True)
class Term:
    """One word.

    Parameters
    ----------
    key : str
        In its address.
    name : str
        The word.
    meaning : str
        In a sentence or two.
    """

    key: str
    name: str
    meaning: str


_TERMS = (
    (
        "volt",
        mark("volt"),
        mark(
            "How hard electricity is pushed, like the pressure in a water pipe. A small "
            "battery pushes with 12 volts, a wall socket with 230: the second can kill."
        ),
    ),
    (
        "amp",
        mark("amp"),
        mark(
            "How much electricity flows, like litres through a pipe. Thick cable carries "
            "many amps; thin cable gets hot."
        ),
    ),
    (
        "watt",
        mark("watt"),
        mark("How fast energy is used at this moment: volts times amps. A lamp takes 8 watts."),
    ),
    (
        "watt-hour",
        mark("watt-hour"),
        mark(
            "An amount of energy: one watt for one hour. An 8 watt lamp burning for 4 hours "
            "takes 32 watt-hours."
        ),
    ),
    (
        "amp-hour",
        mark("amp-hour"),
        mark(
            "What is written on batteries: amps times hours. Times the battery's volts it "
            "gives watt-hours."
        ),
    ),
    (
        "state-of-charge",
        mark("state of charge"),
        mark("How full the battery is, from 0 % (empty) to 100 % (full)."),
    ),
    (
        "controller",
        mark("charge controller"),
        mark(
            "The box between panel and battery that keeps the battery from being overfilled "
            "and, often, from being emptied."
        ),
    ),
    (
        "pwm",
        mark("PWM"),
        mark(
            "The simple kind of charge controller: it ties the panel to the battery, so the "
            "panel must suit the battery's voltage."
        ),
    ),
    (
        "mppt",
        mark("MPPT"),
        mark(
            "The kind of charge controller that lets the panel work at its own best voltage "
            "and converts: more yield in the cold, dearer."
        ),
    ),
    (
        "inverter",
        mark("inverter"),
        mark(
            "Makes mains power from a battery. It draws some power all the time it is "
            "switched on, even with nothing plugged in."
        ),
    ),
    (
        "tilt",
        mark("tilt"),
        mark("How steeply a panel leans: 0° lies flat, 90° stands upright. Winter wants steep."),
    ),
    (
        "azimuth",
        mark("direction faced"),
        mark("The compass direction a panel faces: 90° is east, 180° south, 270° west."),
    ),
    (
        "promise",
        mark("promise"),
        mark(
            "How many hours a year without power you can live with. What must run, should "
            "run and may run each have their own."
        ),
    ),
    (
        "hours-without",
        mark("hours without power"),
        mark(
            "Time in which something that you wanted was switched off because the battery "
            "was empty, in a mean year."
        ),
    ),
    (
        "winters",
        mark("winters"),
        mark(
            "Years of weather, drawn from what is known of the place, that the whole system "
            "is run through hour by hour."
        ),
    ),
    (
        "must",
        mark("must, should, may"),
        mark(
            "How much a load matters. When energy runs short, what may run goes first, then "
            "what should; what must run goes last."
        ),
    ),
    (
        "duty",
        mark("duty"),
        mark("Share of the time that a thing which switches itself on and off really draws."),
    ),
    (
        "surge",
        mark("surge"),
        mark("What a motor draws for a moment as it starts: often several times its power."),
    ),
    (
        "fuse",
        mark("fuse"),
        mark(
            "The weak spot on purpose: it melts before the cable burns. It sits close to "
            "whatever can push a great current, above all the battery."
        ),
    ),
    (
        "voltage-drop",
        mark("voltage drop"),
        mark("What is lost on the way along a cable. Thicker or shorter cable loses less."),
    ),
)


def terms() -> tuple[Term, ...]:
    """All of them, by name, in the language of the present request."""
    listed = (Term(key, gettext(name), gettext(meaning)) for key, name, meaning in _TERMS)
    return tuple(sorted(listed, key=lambda term: term.name.casefold()))
