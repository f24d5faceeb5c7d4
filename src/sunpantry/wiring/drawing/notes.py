"""What stands below a drawing: the key of its lines, and what it does not show."""

from __future__ import annotations

from sunpantry.phrases import joined, phrase
from sunpantry.wiring.drawing import cards
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.graph import Polarity


def key_of(view: View) -> list[tuple[Polarity, str]]:
    """Lines of the circuit diagram, and what each stands for.

    Parameters
    ----------
    view : View
        The circuit with its sizes.
    """
    mains = any(cable.is_mains for cable in view.circuit.cables)
    key: list[tuple[Polarity, str]] = [
        ("+", phrase("plus (thick)")),
        ("−", phrase("minus (thin)")),
    ]
    if mains:
        key += [("L", phrase("mains line (thick)")), ("N", phrase("mains neutral (thin)"))]
    if mains or view.circuit.of_kind("earth"):
        key.append(("PE", phrase("protective earth (dashed)")))
    return key


def diagram_notes(view: View, *, ordered: bool) -> list[str]:
    """Notes below the circuit diagram.

    Parameters
    ----------
    view : View
        The circuit with its sizes.
    ordered : bool
        The terminals of a controller are numbered.
    """
    notes: list[str] = [phrase("A ring joins conductors; a small bridge crosses without joining.")]
    if ordered:
        notes.append(
            phrase(
                "Numbers at the controller are the usual order of its terminals, left to right: "
                "compare with yours."
            )
        )
    return notes + _unfed(view)


def picture_notes(view: View) -> tuple[list[str], int]:
    """Notes below the plain picture, and how many conductors of the earth they name.

    Parameters
    ----------
    view : View
        The circuit with its sizes.
    """
    notes: list[str] = [
        phrase(
            "Thick red lines are plus, thin black ones minus. A line drawn over another with a "
            "gap beside it is not joined to it."
        )
    ]
    if view.circuit.of_kind("controller"):
        notes.append(
            phrase(
                "The order of the controller's terminals is the usual one: what is printed on "
                "yours holds."
            )
        )
    if view.circuit.of_kind("inverter"):
        notes.append(phrase("Mains voltage kills: that side is work for a licensed person."))
    earths = view.circuit.of_role("earth")
    if earths:
        listed = joined(
            (
                phrase("{cable}, {name}", cable=cards.say_cable(view, one), name=one.name)
                for one in earths
            ),
            "; ",
        )
        notes.append(phrase("Not drawn, earth conductors: {listed}.", listed=listed))
    return notes + _unfed(view), len(earths)


def _unfed(view: View) -> list[str]:
    return [
        phrase("Not supplied: {load}: {why}.", load=load, why=why)
        for load, why in view.circuit.unfed
    ]
