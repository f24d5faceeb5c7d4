"""What a system costs over its years: purchase, new batteries, fuel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from sunpantry.design.models import Design
from sunpantry.design.nameplates import AnyNameplate, BatteryNameplate, ConverterNameplate
from sunpantry.design.promise import Backup
from sunpantry.parts.resolve import Kit
from sunpantry.parts.system import System
from sunpantry.physics.economics import present_cost, replacement_years
from sunpantry.simulate.second_source import standing_backup

# A small petrol generator at part load [L/kWh]: common practice, no source.
USUAL_FUEL_L_PER_KWH = 0.6


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the bill.

    Parameters
    ----------
    role : str
        'panel', 'battery', 'controller', 'inverter', 'converter' or 'second source'.
    part : nameplate or None
        ``None`` for the second source.
    count, owned : int
        How many there are, and how many of them are already there.
    unit_price : float or None
        Price of one; ``None`` where it is not known and counted as nothing.
    """

    role: str
    part: AnyNameplate | None
    count: int
    owned: int
    unit_price: float | None

    @property
    def to_pay(self) -> float:
        """Price of those still to be bought [currency]."""
        return (self.unit_price or 0.0) * (self.count - self.owned)


@dataclass(frozen=True, slots=True)
class Cost:
    """What a system costs over the years looked at, in today's money.

    Parameters
    ----------
    purchase : float
        Everything that is not already there [currency].
    replacements : float
        Worth today of the batteries bought again [currency].
    replaced_after_years : tuple of float
        When they are bought [years].
    running : float
        Worth today of fuel, energy and trips for the second source [currency].
    currency : str
        ISO 4217 code.
    items : tuple of Item
        The bill.
    unpriced : tuple of str
        Names of parts to be bought whose price is not known.
    """

    purchase: float
    replacements: float
    replaced_after_years: tuple[float, ...]
    running: float
    currency: str
    items: tuple[Item, ...]
    unpriced: tuple[str, ...]

    @property
    def total(self) -> float:
        """Purchase, replacements and running cost together [currency]."""
        return self.purchase + self.replacements + self.running


def fuel_litres(backup: Backup, brought_in_wh: float) -> float:
    """Fuel that a generator burns for what it brings into the battery [L].

    Parameters
    ----------
    backup : Backup
        The second source; anything but a generator burns nothing.
    brought_in_wh : float
        At the battery [Wh].
    """
    if backup.kind != "generator":
        return 0.0
    kwh = brought_in_wh / 1000.0 / _charging(backup)
    return kwh * (backup.fuel_l_per_kwh or USUAL_FUEL_L_PER_KWH)


def _charging(backup: Backup) -> float:
    """Share of a source's energy that its charger brings into the battery [-]."""
    charges = backup.kind != "carried_battery" and not backup.transfer
    return backup.charger_efficiency_pct / 100.0 if charges else 1.0


def _priced(backup: Backup | None, mains_price: float) -> Backup | None:
    """A mains source without a price of its own takes that of the mains."""
    if backup is None or backup.kind != "mains" or backup.energy_price is not None:
        return backup
    return backup.model_copy(update={"energy_price": mains_price})


@dataclass(frozen=True)
class Pricing:
    """Prices and terms of one design.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
    prices : mapping of str to float
        The person's own prices by the name of the part, capitals aside; they go before
        those of the list.
    years : float
        Time looked at [years].
    rate : float
        Discount rate [1/year].
    owned_converters : tuple of ConverterNameplate
        Already there.
    backup : Backup or None
        The second source.
    """

    currency: str = "EUR"
    prices: Mapping[str, float] = field(default_factory=dict)
    years: float = 15.0
    rate: float = 0.03
    owned_converters: tuple[ConverterNameplate, ...] = ()
    backup: Backup | None = None

    @classmethod
    def of(cls, design: Design, kit: Kit) -> Pricing:
        """Prices and terms of a design.

        Parameters
        ----------
        design : Design
            For its money.
        kit : Kit
            For the converters already there.
        """
        money = design.money
        return cls(
            currency=money.currency,
            prices={name.casefold(): price for name, price in money.prices.items()},
            years=money.years,
            rate=money.discount_rate_pct / 100.0,
            owned_converters=tuple(
                one.converter for one in kit.converters if one.owned for _ in range(one.count)
            ),
            backup=_priced(standing_backup(design), money.electricity_price),
        )

    def price(self, part: AnyNameplate) -> float | None:
        """Price of one part [currency]; ``None`` when it is not known."""
        return self.prices.get(part.name.casefold(), part.price)

    def worth_paying(self, part: AnyNameplate, count: int) -> float:
        """Price of some equal parts, nothing where it is not known [currency]."""
        return (self.price(part) or 0.0) * count

    def bill(self, system: System) -> tuple[Item, ...]:
        """List every part of a system with its price."""
        return tuple(self._items(system))

    def _items(self, system: System) -> Iterator[Item]:
        for array in system.arrays:
            yield self._item("panel", array.panel, array.count, array.owned)
        bank = system.bank
        if bank is not None:
            yield self._item("battery", bank.battery, bank.count, bank.owned)
        if system.controller is not None:
            count = system.controller_count
            owned = count if system.controller_owned else 0
            yield self._item("controller", system.controller, count, owned)
        if system.inverter is not None:
            yield self._item("inverter", system.inverter, 1, 1 if system.inverter_owned else 0)
        for converter in dict.fromkeys(system.converters):
            count = system.converters.count(converter)
            owned = min(self.owned_converters.count(converter), count)
            yield self._item("converter", converter, count, owned)
        if self.backup is not None:
            owned = 1 if self.backup.owned else 0
            yield Item("second source", None, 1, owned, self.backup.price)

    def _item(self, role: str, part: AnyNameplate, count: int, owned: int) -> Item:
        return Item(role, part, count, owned, self.price(part))

    def battery_again(self, battery: BatteryNameplate, count: int, life_years: float) -> float:
        """Worth today of buying the batteries again whenever they are worn out [currency]."""
        return self._later(self.worth_paying(battery, count), life_years)

    def _later(self, amount: float, life_years: float) -> float:
        later = [(year, amount) for year in replacement_years(life_years, self.years)]
        return present_cost(self.rate, first=0.0, yearly=0.0, years=1, later=later)

    def running_per_year(self, backup_wh_per_year: float) -> float:
        """Fuel, energy and trips for what the second source brings in a year [currency]."""
        backup = self.backup
        if backup is None or backup_wh_per_year <= 0.0:
            return 0.0
        fuel = fuel_litres(backup, backup_wh_per_year) * (backup.fuel_price or 0.0)
        kwh = backup_wh_per_year / 1000.0 / _charging(backup)
        energy = kwh * (backup.energy_price or 0.0)
        trips = backup_wh_per_year / backup.carried_wh if backup.carried_wh else 0.0
        return fuel + energy + trips * backup.trip_cost

    def cost(
        self,
        system: System,
        *,
        life_years: float | None,
        backup_wh_per_year: float = 0.0,
    ) -> Cost:
        """Add up what a system costs over the years looked at.

        Parameters
        ----------
        system : System
            The parts.
        life_years : float or None
            Life of the batteries [years]; ``None`` without any.
        backup_wh_per_year : float
            Energy the second source brings in a year [Wh/year].

        Returns
        -------
        Cost
            Batteries already there cost nothing now; those that follow them do.
        """
        items = self.bill(system)
        again: tuple[float, ...] = ()
        replacements = 0.0
        if system.bank is not None and life_years is not None:
            again = replacement_years(life_years, self.years)
            replacements = self.battery_again(system.bank.battery, system.bank.count, life_years)
        yearly = self.running_per_year(backup_wh_per_year)
        years = max(round(self.years), 1)
        return Cost(
            purchase=sum(item.to_pay for item in items),
            replacements=replacements,
            replaced_after_years=again,
            running=present_cost(self.rate, first=0.0, yearly=yearly, years=years, later=()),
            currency=self.currency,
            items=items,
            unpriced=tuple(
                item.part.name
                for item in items
                if item.part is not None and item.unit_price is None and item.count > item.owned
            ),
        )
