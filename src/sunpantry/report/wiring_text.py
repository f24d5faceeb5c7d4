"""The wiring in plain words, for a terminal, and its drawings as files."""

from __future__ import annotations

from pathlib import Path
from textwrap import fill
from typing import Any

from sunpantry.phrases import phrase
from sunpantry.plan.types import Plan
from sunpantry.report.columns import columns_of
from sunpantry.report.spoken import figure, spoken, titled
from sunpantry.wiring.settings import REFERENCE_C

WIDTH = 88
NOTHING_TO_WIRE = phrase("There is nothing to wire in this design.")


def wiring_text(plan: Plan) -> str:
    """Tell a person how to wire the system.

    Parameters
    ----------
    plan : Plan
        With its wiring.

    Returns
    -------
    str
        Schedules, settings, order of connection and notices, with a final line end.
    """
    if plan.wiring is None:
        return spoken(NOTHING_TO_WIRE) + "\n"
    data = plan.wiring.to_json()
    sections = [
        spoken(phrase("Wiring of {name}", name=plan.design.name)),
        _section(phrase("Cables"), _cables(data)),
        _section(phrase("What the cables lose"), _losses(data)),
        _section(phrase("Fuses, breakers and switches"), _protections(data)),
        _section(phrase("Settings"), _settings(data)),
        _section(phrase("Order of connection"), _numbered(data["steps"])),
        _section(phrase("What to buy"), _materials(data)),
        _section(phrase("To know"), _findings(data)),
    ]
    return "\n\n".join(section for section in sections if section) + "\n"


def write_drawings(plan: Plan, folder: Path) -> list[Path]:
    """Write the circuit diagram and the plain picture, for paper and for a telephone, as SVG.

    Parameters
    ----------
    plan : Plan
        With its wiring.
    folder : Path
        Made when it is not there.
    """
    if plan.wiring is None:
        return []
    folder.mkdir(parents=True, exist_ok=True)
    name = plan.design.name
    drawn = (
        ("diagram", plan.wiring.diagram(name, spoken)),
        ("picture", plan.wiring.picture(name, spoken)),
        ("picture-narrow", plan.wiring.picture(name, spoken, narrow=True)),
    )
    paths = []
    for kind, drawing in drawn:
        path = folder / f"{kind}.svg"
        path.write_text(drawing.svg, "utf-8")
        paths.append(path)
    return paths


def _section(title: str, body: str) -> str:
    return titled(title, body) if body else ""


def _cables(data: dict[str, Any]) -> str:
    rows = [
        (
            row["id"],
            _run(row),
            f"{figure(row['length_m'], 'g')} m",
            spoken(row["size"]),
            "" if row["design_a"] is None else _small(row["design_a"], "A"),
            _drop(row),
            spoken(row["limited_by"]),
        )
        for row in data["runs"]
    ]
    heads = (
        *("", phrase("run"), phrase("one way"), phrase("size"), phrase("current"), phrase("drop")),
        phrase("set by"),
    )
    return columns_of(rows, tuple(map(spoken, heads)))


def _run(row: dict[str, Any]) -> str:
    if row["role"] == "earth":
        return spoken(row["name"])
    return f"{spoken(row['from'])} → {spoken(row['to'])}"


def _drop(row: dict[str, Any]) -> str:
    if row["drop_v"] is None:
        return ""
    drop = phrase(
        "{drop_v:.2f} V ({drop_pct:.1f}%)", drop_v=row["drop_v"], drop_pct=row["drop_pct"]
    )
    return spoken(drop)


def _losses(data: dict[str, Any]) -> str:
    """Watts at work, energy and money a year, and where more copper stops paying."""
    told = [row for row in data["runs"] if row["yearly_loss_wh"] is not None]
    if not told:
        return ""
    rows = [
        (
            row["id"],
            _small(row["loss_w"], "W"),
            _energy(row["yearly_loss_wh"]),
            _money(row["yearly_loss_price"], data["currency"]),
            spoken(row["size"]),
            _pays_to(row),
        )
        for row in told
    ]
    total_wh = sum(row["yearly_loss_wh"] for row in told)
    total = sum(row["yearly_loss_price"] for row in told)
    heads = (
        *("", phrase("at full work"), phrase("in a year"), phrase("worth"), phrase("size")),
        phrase("more copper pays up to"),
    )
    together = phrase(
        "Together {energy} a year, worth {money}.",
        energy=_energy(total_wh),
        money=_money(total, data["currency"]),
    )
    return columns_of(rows, tuple(map(spoken, heads))) + f"\n{spoken(together)}"


def _small(value: float, unit: str) -> str:
    """A tenth is enough from one up; below it two figures, down to a hundredth."""
    if value >= 10.0 and unit == "W":
        return f"{figure(value, '.0f')} {unit}"
    if value >= 1.0:
        return f"{figure(value, '.1f')} {unit}"
    return f"{figure(value, '.2f')} {unit}" if value >= 0.01 else _under(0.01, unit)


def _under(limit: float, unit: str) -> str:
    return spoken(phrase("under {limit:g} {unit}", limit=limit, unit=unit))


def _money(value: float, currency: str) -> str:
    return f"{figure(value, '.2f')} {currency}" if value >= 0.01 else _under(0.01, currency)


def _energy(energy_wh: float) -> str:
    if energy_wh < 1.0:
        return _under(1.0, "Wh")
    if energy_wh < 1000.0:
        return f"{figure(energy_wh, '.0f')} Wh"
    return f"{figure(energy_wh / 1000.0, '.1f')} kWh"


def _pays_to(row: dict[str, Any]) -> str:
    if row["economic_mm2"] is None or row["economic_mm2"] <= row["size_mm2"]:
        return spoken(phrase("this size"))
    return f"{figure(row['economic_mm2'], 'g')} mm²"


def _protections(data: dict[str, Any]) -> str:
    rows = [
        (row["id"], *(spoken(row[key]) for key in ("name", "rating", "protects", "place")))
        for row in data["protections"]
    ]
    heads = ("", phrase("device"), phrase("rating"), phrase("protects"), phrase("where"))
    return columns_of(rows, tuple(map(spoken, heads)))


def _settings(data: dict[str, Any]) -> str:
    rows = [
        (
            spoken(row["part"]),
            spoken(row["name"]),
            _value(row, "value"),
            _value(row, "winter"),
            spoken(row["note"]),
        )
        for row in data["settings"]
    ]
    heads = (
        *(phrase("part"), phrase("set point"), phrase("at {warm_c:.0f} °C", warm_c=REFERENCE_C)),
        *(phrase("battery at {cold_c:.0f} °C", cold_c=data["winter_battery_c"]), ""),
    )
    return columns_of(rows, tuple(map(spoken, heads))) if rows else ""


def _value(row: dict[str, Any], key: str) -> str:
    """A set point as it is set: volts to the hundredth, unless it is the class of the bank."""
    value, unit = row[key], row["unit"]
    if value is None:
        return ""
    if not isinstance(value, float):
        return f"{spoken(str(value) if not isinstance(value, str) else value)} {unit}".strip()
    point = unit == "V" and row["name"] not in ("system voltage", "output voltage")
    return f"{figure(value, '.2f' if point else '.3g')} {spoken(unit)}"


def _numbered(steps: list[str]) -> str:
    return "\n".join(
        fill(spoken(step), WIDTH, initial_indent=f"{number:>2}. ", subsequent_indent="    ")
        for number, step in enumerate(steps, start=1)
    )


def _materials(data: dict[str, Any]) -> str:
    rows = [
        (
            spoken(row["item"]),
            _how_much(row["quantity"], row["unit"]),
            figure(row["price"], ".2f"),
        )
        for row in data["materials"]
    ]
    heads = (
        *(phrase("material"), phrase("how much")),
        phrase("{currency}, typical", currency="EUR"),
    )
    return columns_of(rows, tuple(map(spoken, heads)))


def _how_much(quantity: float, unit: str) -> str:
    number = figure(quantity, "g")
    return number if unit == "pieces" else f"{number} {unit}"


def _findings(data: dict[str, Any]) -> str:
    told = [f"{spoken(row['severity'])}: {spoken(row['sentence'])}" for row in data["findings"]]
    told += [spoken(row["text"]) for row in data["notices"]]
    return "\n".join(fill(line, WIDTH) for line in dict.fromkeys(told))
