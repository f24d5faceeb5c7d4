"""The wiring in plain words, for a terminal, and its drawings as files."""

from __future__ import annotations

from pathlib import Path
from textwrap import fill
from typing import Any

from sunpantry.plan.types import Plan
from sunpantry.report.columns import columns_of

WIDTH = 88


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
        return "There is nothing to wire in this design.\n"
    data = plan.wiring.to_json()
    sections = [
        f"Wiring of {plan.design.name}",
        _section("Cables", _cables(data)),
        _section("What the cables lose", _losses(data)),
        _section("Fuses, breakers and switches", _protections(data)),
        _section("Settings", _settings(data)),
        _section("Order of connection", _numbered(data["steps"])),
        _section("What to buy", _materials(data)),
        _section("To know", _findings(data)),
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
        ("diagram", plan.wiring.diagram(name)),
        ("picture", plan.wiring.picture(name)),
        ("picture-narrow", plan.wiring.picture(name, narrow=True)),
    )
    paths = []
    for kind, drawing in drawn:
        path = folder / f"{kind}.svg"
        path.write_text(drawing.svg, "utf-8")
        paths.append(path)
    return paths


def _section(title: str, body: str) -> str:
    return f"{title}\n{'-' * len(title)}\n{body}" if body else ""


def _cables(data: dict[str, Any]) -> str:
    rows = [
        (
            row["id"],
            row["name"] if row["role"] == "earth" else f"{row['from']} → {row['to']}",
            f"{row['length_m']:g} m",
            row["size"],
            "" if row["design_a"] is None else _small(row["design_a"], "A"),
            "" if row["drop_v"] is None else f"{row['drop_v']:.2f} V ({row['drop_pct']:.1f}%)",
            row["limited_by"],
        )
        for row in data["runs"]
    ]
    heads = ("", "run", "one way", "size", "current", "drop", "set by")
    return columns_of(rows, heads)


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
            row["size"],
            _pays_to(row),
        )
        for row in told
    ]
    total_wh = sum(row["yearly_loss_wh"] for row in told)
    total = sum(row["yearly_loss_price"] for row in told)
    heads = ("", "at full work", "in a year", "worth", "size", "more copper pays up to")
    return (
        columns_of(rows, heads)
        + f"\nTogether {_energy(total_wh)} a year, worth {_money(total, data['currency'])}."
    )


def _small(value: float, unit: str) -> str:
    """A tenth is enough from one up; below it two figures, down to a hundredth."""
    if value >= 10.0 and unit == "W":
        return f"{value:.0f} {unit}"
    if value >= 1.0:
        return f"{value:.1f} {unit}"
    return f"{value:.2f} {unit}" if value >= 0.01 else f"under 0.01 {unit}"


def _money(value: float, currency: str) -> str:
    return f"{value:.2f} {currency}" if value >= 0.01 else f"under 0.01 {currency}"


def _energy(energy_wh: float) -> str:
    if energy_wh < 1.0:
        return "under 1 Wh"
    return f"{energy_wh:.0f} Wh" if energy_wh < 1000.0 else f"{energy_wh / 1000.0:.1f} kWh"


def _pays_to(row: dict[str, Any]) -> str:
    if row["economic_mm2"] is None or row["economic_mm2"] <= row["size_mm2"]:
        return "this size"
    return f"{row['economic_mm2']:g} mm²"


def _protections(data: dict[str, Any]) -> str:
    rows = [
        (row["id"], row["name"], row["rating"], row["protects"], row["place"])
        for row in data["protections"]
    ]
    return columns_of(rows, ("", "device", "rating", "protects", "where"))


def _settings(data: dict[str, Any]) -> str:
    rows = [
        (
            row["part"],
            row["name"],
            _value(row, "value"),
            _value(row, "winter"),
            row["note"],
        )
        for row in data["settings"]
    ]
    winter = f"battery at {data['winter_battery_c']:.0f} °C"
    return columns_of(rows, ("part", "set point", "at 25 °C", winter, "")) if rows else ""


def _value(row: dict[str, Any], key: str) -> str:
    """A set point as it is set: volts to the hundredth, unless it is the class of the bank."""
    value, unit = row[key], row["unit"]
    if value is None:
        return ""
    if not isinstance(value, float):
        return f"{value} {unit}".strip()
    point = unit == "V" and row["name"] not in ("system voltage", "output voltage")
    return f"{value:.2f} {unit}" if point else f"{value:.3g} {unit}"


def _numbered(steps: list[str]) -> str:
    return "\n".join(
        fill(step, WIDTH, initial_indent=f"{number:>2}. ", subsequent_indent="    ")
        for number, step in enumerate(steps, start=1)
    )


def _materials(data: dict[str, Any]) -> str:
    rows = [
        (row["item"], _how_much(row["quantity"], row["unit"]), f"{row['price']:.2f}")
        for row in data["materials"]
    ]
    return columns_of(rows, ("material", "how much", "EUR, typical"))


def _how_much(quantity: float, unit: str) -> str:
    return f"{quantity:g}" if unit == "pieces" else f"{quantity:g} {unit}"


def _findings(data: dict[str, Any]) -> str:
    told = [f"{row['severity']}: {row['sentence']}" for row in data["findings"]]
    told += [row["text"] for row in data["notices"]]
    return "\n".join(fill(line, WIDTH) for line in dict.fromkeys(told))
