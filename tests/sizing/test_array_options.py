"""Ways of putting panels together: none is missed, and too many are told."""

from __future__ import annotations

from itertools import product

import pytest

from sunpantry.design.promise import Search
from sunpantry.errors import InputError
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.resolve import ArrayKit, BankKit, ControllerKit, InverterKit, Kit
from sunpantry.sizing import array_options
from sunpantry.sizing.array_options import Arrays

PANELS = tuple(one for one in shipped_catalogue().panels if one.regulated_output_v is None)


def _kit(panel: int | None, count: int | None) -> ArrayKit:
    named = None if panel is None else PANELS[panel]
    return ArrayKit(named, count, None, None, 0, None, None, "ground")


@pytest.mark.independent
@pytest.mark.parametrize("max_w", [None, 250.0])
@pytest.mark.parametrize("most", [1, 2, 4])
@pytest.mark.parametrize(
    "kits",
    [
        (_kit(None, None),),
        (_kit(None, None), _kit(None, None)),
        (_kit(0, None), _kit(None, 2), _kit(None, None)),
        (_kit(0, 1), _kit(1, 2)),
        (_kit(0, 1), _kit(None, None), _kit(2, None)),
    ],
)
def test_the_same_as_sifting_every_one(
    kits: tuple[ArrayKit, ...], most: int, max_w: float | None
) -> None:
    """In the same order too: of equals the search keeps the first."""
    limits = Search(max_panels=most, max_panel_power_w=max_w)
    offers = PANELS[:4]
    lists = [
        [
            array
            for panel in (offers if one.panel is None else (one.panel,))
            for array in array_options._wired(one, panel, limits, 180.0)
        ]
        for one in kits
    ]
    sifted = []
    for together in product(*lists):
        both = list(zip(together, kits, strict=True))
        opened = [array for array, one in both if one.panel is None or one.count is None]
        alike = {array.panel.name for array, one in both if one.panel is None}
        too_many = sum(array.count for array in opened) > most
        too_strong = max_w is not None and Arrays(together).power_w > max_w
        if len(alike) < 2 and not (opened and (too_many or too_strong)):
            sifted.append(together)
    assert list(array_options._put_together(kits, lists, limits)) == sifted


@pytest.mark.regression
def test_too_many_open_arrays_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rather than searched for hours."""
    monkeypatch.setattr(array_options, "MOST_ARRAYS", 1000)
    kit = Kit(None, (_kit(None, None),) * 3, BankKit(), ControllerKit(), InverterKit(), ())
    with pytest.raises(InputError, match="3 arrays left open"):
        array_options.arrays(kit, shipped_catalogue(), Search(), bank_v=12.0, equator_deg=180.0)
