"""The referee: docs/model.md once more, step by step in plain Python.

Written from that page; it shares no code with the compiled kernel. The only figures it
takes from the program are what is on the labels, the table of chemistry constants, the
light on the panels and what the loads ask for.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from tests.referee.battery import Store, store_of, warmth_c
from tests.referee.loads import Inverter, asked_of
from tests.referee.roof import Poles, Roof, Sky, set_points
from tests.referee.told import Told

from sunpantry.demand.series import Demand
from sunpantry.parts.system import System

EQUALISE_AFTER_H = 28 * 24.0
# A decision nearer to its threshold than this may fall either way in another rounding.
TIE_FILLED, TIE_V_AT_12 = 0.002, 0.02


@dataclass(frozen=True)
class Source:
    """A second source."""

    power_w: float
    start_below: float
    stop_above: float


@dataclass
class Wanted:
    """What is switched on in a step: for each class at its terminals, and at the bus [W]."""

    out: list[float]
    bus: list[float]
    overhead: float
    ac: list[float]

    @classmethod
    def nothing(cls) -> Wanted:
        """Everything off."""
        return cls([0.0] * 3, [0.0] * 3, 0.0, [0.0] * 3)


@dataclass(frozen=True)
class Bank:
    """How the bank stands at the start of a step."""

    v0: float
    charge_ohm: float
    out_ohm: float
    settled: float
    per_w: float
    most_w: float
    filled: float
    trip_w: float | None = None


class Referee:
    """One system on its way through the steps."""

    def __init__(
        self,
        system: System,
        demand: Demand,
        sky: Sky,
        *,
        step_h: float,
        capacity_left: float = 1.0,
        source: Source | None = None,
        inverter_on: Sequence[float] | None = None,
        on_terminals: tuple[bool, bool] = (False, False),
        turned: Collection[tuple[int, str]] = (),
    ) -> None:
        self.system, self.step_h, self.source = system, step_h, source
        self.on_terminals, self.terminals_a = on_terminals, math.inf
        if any(on_terminals) and system.controller is not None:
            self.terminals_a = system.controller.load_output_a * system.controller_count
        self.turned, self.inverter_on = frozenset(turned), inverter_on
        self.asked = asked_of(demand, system)
        self.inverter = (
            Inverter.of(system.inverter, system.bank_v) if system.inverter is not None else None
        )
        self.store: Store | None = None
        self.w0 = self.w1 = self.own_a = 0.0
        housing = "shed"
        if system.bank is not None:
            self.store = store_of(system.bank, capacity_left)
            self.w0, self.w1 = self.store.full_wh, self.store.full_wh * self.store.share
            housing = system.bank.housing
            if system.controller is not None:
                self.own_a = system.controller.self_consumption_a * system.controller_count
        self.own_a += self.asked.converters_w / system.bank_v
        self.points = set_points(system, self.store)
        self.roof = Roof(system, sky)
        self.cell_c = warmth_c([float(one) for one in sky.air_c], housing, step_h)
        self.connected, self.floating, self.absorbed_h = True, False, 0.0
        self.inverter_out, self.since_equalised_h = False, 0.0
        self.shed: set[int] = set()
        self.source_runs, self.job_start_w = False, 0.0
        self.told = Told()

    def run(self, steps: int) -> Told:
        """Go through the first steps of the year."""
        per_day = round(24.0 / self.step_h)
        for t in range(steps):
            self._step(t)
            if (t + 1) % per_day == 0:
                if not any(self.roof.dark[t + 1 - per_day : t + 1]):
                    self.floating, self.absorbed_h = False, 0.0
                self.since_equalised_h += 24.0
        self.told.missed_wh = [queue.missed_wh for queue in self.asked.queues]
        return self.told

    def _below(self, t: int, what: str, value: float, limit: float, width: float) -> bool:
        """Decide by a threshold; note how narrowly, and decide a turned tie the other way."""
        below = value < limit
        if abs(value - limit) < width:
            self.told.ties.append((t, what))
            if (t, what) in self.turned:
                return not below
        return below

    def _step(self, t: int) -> None:
        account, h = self.told.account, self.step_h
        bank = self._bank(t)
        want = self._wants(t, bank.v0)
        own_w, target_v = self.own_a * bank.v0, self._target_v(t)
        if self.roof.dark[t]:
            self.floating, self.absorbed_h = False, 0.0
        load_w = sum(want.bus) + want.overhead + own_w
        poles = Poles(bank.v0, bank.charge_ohm, bank.out_ohm, load_w, target_v)
        sun_w, offered_w = self.roof.gives(t, poles)
        source_w = 0.0
        if self.source is not None and self.source_runs:
            source_w = self.source.power_w
            self.told.backup_h += h
        supply = sun_w + source_w
        jobs_bus, jobs_out = self._jobs(t, supply - load_w, bank, want)
        tripped = self._overcurrent(want, own_w + jobs_bus, supply, bank)
        own_w, inverter_w = self._share_out(want, own_w, jobs_bus, supply + bank.most_w)
        used = own_w + jobs_bus + inverter_w + sum(want.out)
        volts, taken, into_w = bank.v0, 0.0, 0.0
        if supply > used and not tripped:
            taken, heater_w, volts = self._charge(t, supply - used, bank, target_v)
            own_w, used, into_w = own_w + heater_w, used + heater_w, taken
        elif self.store is not None:
            volts = self._discharge(min(max(used - supply, 0.0), bank.most_w), bank)
        source_used = min(source_w, max(used + taken - sun_w, 0.0))
        from_sun = min(sun_w, used + taken - source_used)
        part = self.roof.controller.part
        account.offered += offered_w * h
        account.gathered += from_sun / part * h
        account.conversion += from_sun * (1.0 / part - 1.0) * h
        account.backup += source_used * h
        account.own += own_w * h
        account.served += (sum(want.out) + jobs_out) * h
        account.inverter += (inverter_w + jobs_bus - jobs_out) * h
        self._note(t, want, volts, from_sun / part)
        self._switch(t, volts, self._lowest_v(t, bank, volts, into_w))

    # --- sections 2.1 and 2.4 ------------------------------------------------------------
    def _bank(self, t: int) -> Bank:
        store, cell_c = self.store, self.cell_c[t]
        if store is None:
            return Bank(self.system.bank_v, 1e-6, 1e-6, 0.0, self.step_h, 0.0, 0.0)
        filled, back = self.w0 / store.full_wh, store.kept_back(cell_c)
        v0 = store.open_v((self.w1 / (store.share * store.full_wh) - back) / (1.0 - back))
        factor = store.cold_charge_factor(cell_c)
        out_ohm = store.discharge_ohm * store.drained_factor(filled, cell_c)
        settled, per_w = store.settle(self.w1, self.w0, self.step_h)
        inner = max((settled - back * store.share * store.full_wh) / per_w, 0.0)
        inner = min(inner, self.w0 / self.step_h, store.max_discharge_a * v0)
        if cell_c < store.table.min_discharge_c:
            inner = 0.0
        most_a = min(inner / v0, v0 / (2.0 * out_ohm))
        most_w = most_a * (v0 - most_a * out_ohm)
        trip_w = None
        if not store.table.is_lead_acid:
            trip_a = min(store.max_discharge_a, v0 / (2.0 * out_ohm))
            trip_w = trip_a * (v0 - trip_a * out_ohm)
        charge_ohm = store.charge_ohm_at(filled, factor)
        return Bank(v0, charge_ohm, out_ohm, settled, per_w, most_w, filled, trip_w)

    # --- section 2.2 ---------------------------------------------------------------------
    def _wants(self, t: int, v0: float) -> Wanted:
        if not self.connected:
            return Wanted.nothing()
        on = [kind not in self.shed for kind in range(3)]
        dc = [self.asked.dc_w[kind][t] * on[kind] for kind in range(3)]
        ac = [self.asked.ac_w[kind][t] * on[kind] for kind in range(3)]
        if self.inverter is not None:
            self._within_inverter(t, v0, self.inverter, sum(dc), ac)
        if any(self.on_terminals):
            self._within_terminals(t, v0, dc, ac)
        overhead, grow = 0.0, 1.0
        if self.inverter is not None:
            grow += self.inverter.linear
            overhead = self._overhead_w(t, self.inverter, sum(ac))
        bus = [d + a * grow for d, a in zip(dc, ac, strict=True)]
        if self.system.bank is not None:
            battery = self.system.bank.battery
            least_w = battery.auto_off_a * self.system.bank.parallel * self.system.bank_v
            if battery.chemistry == "power_bank":
                least_w /= battery.output_efficiency_pct / 100.0
            at_work_w = sum(bus) + overhead + self.asked.dc_surge_w[2][t]
            if at_work_w < least_w:
                return Wanted.nothing()
        return Wanted([d + a for d, a in zip(dc, ac, strict=True)], bus, overhead, ac)

    def _within_inverter(
        self, t: int, v0: float, inverter: Inverter, dc_w: float, ac: list[float]
    ) -> None:
        """Leave out what the inverter does not carry, or all if the hardest start trips it."""
        for least in (2, 1, 0):
            if sum(ac) > inverter.rated_w or self.inverter_out:
                ac[least] = 0.0
        running_w, surge_w = sum(ac) + dc_w, self.asked.surge_w[t]
        if sum(ac) > 0.0 and self._start_trips(t, v0, running_w, surge_w, "surge"):
            ac[:] = [0.0] * 3

    def _overhead_w(self, t: int, inverter: Inverter, ac_w: float) -> float:
        if ac_w > 0.0:
            return inverter.idle_w + inverter.square_per_w * ac_w**2
        if self.inverter_out:
            return 0.0
        return inverter.waiting_w * (self.inverter_on[t] if self.inverter_on else 1.0)

    def _within_terminals(self, t: int, v0: float, dc: list[float], ac: list[float]) -> None:
        """Leave out what the load terminals do not carry, the least important first."""
        for kind in (2, 1, 0):
            through_w = 0.0
            if self.on_terminals[0] and sum(dc) > 0.0:
                through_w += sum(dc) + self.asked.dc_surge_w[kind][t]
            if self.on_terminals[1] and self.inverter is not None and sum(ac) > 0.0:
                through_w += sum(ac) + self.inverter.loss_w(sum(ac))
            if through_w <= self.terminals_a * v0 * (1.0 + 1e-9):
                return
            self.told.refused += 1
            for side, hangs in zip((dc, ac), self.on_terminals, strict=True):
                side[kind] = 0.0 if hangs else side[kind]

    def _lowest_v(self, t: int, bank: Bank, volts: float, into_w: float) -> float:
        """Voltage while the hardest start on the DC side falls in the step."""
        kinds = [kind for kind in range(3) if kind not in self.shed]
        surge_w = max(self.asked.dc_surge_w[max(kinds)][t], self.job_start_w)
        if self.system.controller is not None and self.system.controller.disconnect_delay_s >= 3.0:
            surge_w = self.asked.dc_peak_w[max(kinds)][t]
        if self.store is None or not self.connected or surge_w <= into_w:
            return volts
        from_v = bank.v0 if into_w > 0.0 else volts
        ohm = self.store.surge_ohm * self.store.drained_factor(bank.filled, self.cell_c[t])
        root = from_v**2 - 4.0 * ohm * (surge_w - into_w)
        return 0.5 * (from_v + math.sqrt(root)) if root > 0.0 else 0.0

    def _start_trips(self, t: int, v0: float, running_w: float, surge_w: float, what: str) -> bool:
        """Whether a start on the AC side pulls the battery below the inverter's cut-off."""
        inverter = self.inverter
        assert inverter is not None
        if surge_w <= 0.0 or self.store is None:
            return False
        filled = self.w0 / self.store.full_wh
        ohm = self.store.surge_ohm * self.store.drained_factor(filled, self.cell_c[t])
        root = v0 * v0 - 4.0 * ohm * (running_w + surge_w * (1.0 + inverter.linear))
        volts = 0.5 * (v0 + math.sqrt(root)) if root > 0.0 else 0.0
        return self._below(t, what, volts, inverter.cut_v, self._tie_v())

    def _tie_v(self) -> float:
        return TIE_V_AT_12 * self.system.bank_v / 12.0

    # --- section 2.3 ---------------------------------------------------------------------
    def _target_v(self, t: int) -> float:
        target = self.points.absorb_v
        if self.floating:
            target = self.points.float_v
        elif self.points.equalise_v is not None and self.since_equalised_h >= EQUALISE_AFTER_H:
            target = self.points.equalise_v
        return target + self.points.per_k * (self.cell_c[t] - 25.0)

    # --- section 2.5 ---------------------------------------------------------------------
    def _jobs(self, t: int, spare_w: float, bank: Bank, want: Wanted) -> tuple[float, float]:
        """Power of jobs at the bus and at their own supply."""
        bus = out = 0.0
        inverter, ac_w, lost_w = self.inverter, sum(want.ac), want.overhead
        dc_w = sum(want.out) - ac_w
        terminals_w = self._terminals_left_w(bank.v0, dc_w, ac_w)
        self.job_start_w = 0.0
        for number, queue in enumerate(self.asked.queues):
            if queue.arrivals_wh[t] > 0.0:
                queue.waiting.append((t, queue.arrivals_wh[t]))
                self.told.account.asked += queue.arrivals_wh[t]
            queue.drop_overdue(t)
            backlog_w = queue.backlog_wh() / self.step_h
            room = spare_w - bus
            if queue.above is not None:
                low = self._below(t, f"job {number}", bank.filled, queue.above, TIE_FILLED)
                room = 0.0 if low else room + bank.most_w
            if backlog_w <= 1e-9 * queue.power_w or room <= 0.0 or not self.connected:
                continue
            power = min(queue.power_w, backlog_w)
            if queue.mains and inverter is not None:
                start = (queue.start_w, f"start {number}")
                running_w = ac_w + queue.power_w + dc_w
                if self.inverter_out or self._start_trips(t, bank.v0, running_w, *start):
                    continue
                if self.on_terminals[1]:
                    room = min(room, terminals_w)
                power = min(power, inverter.rated_w - ac_w)
                power = min(power, inverter.more_w(room, ac_w, lost_w))
            elif self.on_terminals[0]:
                room = min(room, terminals_w - queue.start_w)
            power = min(power, room)
            if power <= 0.0 or power < min(queue.least_w, backlog_w):
                continue
            queue.work(power * self.step_h)
            bus, out = bus + power, out + power
            if queue.mains and inverter is not None:
                now_w = inverter.loss_w(ac_w + power)
                bus += now_w - (inverter.loss_w(ac_w) if ac_w > 0.0 else lost_w)
                if self.on_terminals[1]:
                    terminals_w -= now_w + power - (inverter.loss_w(ac_w) if ac_w > 0.0 else lost_w)
                ac_w += power
            else:
                terminals_w -= power if self.on_terminals[0] else 0.0
                self.job_start_w = max(self.job_start_w, queue.start_w)
        return bus, out

    def _terminals_left_w(self, v0: float, dc_w: float, ac_w: float) -> float:
        """What the load terminals carry beside the loads that do not wait."""
        left_w = self.terminals_a * v0
        if self.on_terminals[0]:
            left_w -= dc_w
        if self.on_terminals[1] and self.inverter is not None and ac_w > 0.0:
            left_w -= ac_w + self.inverter.loss_w(ac_w)
        return left_w

    # --- section 2.5a ---------------------------------------------------------------------
    def _overcurrent(self, want: Wanted, first_w: float, supply: float, bank: Bank) -> bool:
        """Leave classes out that the battery's electronics would trip over."""
        if bank.trip_w is None:
            return False
        can_w = supply + bank.trip_w - first_w
        if sum(want.bus) + want.overhead <= can_w * (1.0 + 1e-9):
            return False
        self.told.trips += 1
        inverter, had_ac = self.inverter, sum(want.ac) > 0.0
        for kind in (2, 1, 0):
            want.out[kind] = want.bus[kind] = want.ac[kind] = 0.0
            if inverter is not None and had_ac:
                still = sum(want.ac)
                square = inverter.idle_w + inverter.square_per_w * still**2
                want.overhead = square if still > 0.0 else 0.0
            if sum(want.bus) + want.overhead <= can_w * (1.0 + 1e-9):
                break
        return True

    # --- section 2.6 ---------------------------------------------------------------------
    def _share_out(
        self, want: Wanted, own_w: float, jobs_w: float, can_w: float
    ) -> tuple[float, float]:
        """Cut ``want`` down to what there is; own draw, and lost in the inverter [W]."""
        own_w = min(own_w, can_w)
        left = can_w - own_w - jobs_w
        overhead = min(max(left, 0.0), want.overhead)
        left -= overhead
        lost = overhead
        for kind in range(3):
            got = min(max(left, 0.0), want.bus[kind])
            if want.bus[kind] > 0.0:
                want.out[kind] *= got / want.bus[kind]
            lost += got - want.out[kind]
            left -= got
        return own_w, lost

    # --- section 2.7 ---------------------------------------------------------------------
    def _charge(
        self, t: int, surplus_w: float, bank: Bank, target_v: float
    ) -> tuple[float, float, float]:
        """Power taken at the bus, power of the heater, terminal voltage."""
        store, cell_c = self.store, self.cell_c[t]
        if store is None:
            return 0.0, 0.0, bank.v0
        heater_w, limit_a = 0.0, store.charge_limit_a(cell_c)
        cold = cell_c < store.lowest_charge_c
        if cold and limit_a <= 0.0 and 0.0 < store.heater_w < surplus_w:
            heater_w, limit_a = store.heater_w, 0.1 * store.rated_ah
            surplus_w -= heater_w
        if limit_a <= 0.0:
            self._move(bank, 0.0)
            return 0.0, 0.0, bank.v0
        v0, ohm = bank.v0, bank.charge_ohm
        rise_v = max(target_v - v0, 0.0)
        if 2.0 * surplus_w * ohm >= target_v * rise_v > 0.0:
            rough_a = min(surplus_w / target_v, limit_a, rise_v / ohm)
            middle = bank.filled + 0.5 * rough_a * v0 * self.step_h / store.full_wh
            middle = max(min(middle, 0.9995), bank.filled)
            ohm = store.charge_ohm_at(middle, store.cold_charge_factor(cell_c))
        amps = (-v0 + math.sqrt(v0 * v0 + 4.0 * ohm * surplus_w)) / (2.0 * ohm)
        amps = min(amps, limit_a)
        volts = v0 + amps * ohm
        held = volts >= target_v
        if held:
            volts = max(target_v, v0)
            amps = rise_v / ohm
        gas_a = store.gas_a(volts, cell_c)
        whole = min(amps + gas_a, max(surplus_w / volts, amps)) if held else amps
        gas_a = min(gas_a, whole)
        amps = whole - gas_a
        useful = store.table.coulombic
        room_w = max((store.full_wh - self.w0) / self.step_h, 0.0)
        amps = min(amps, room_w / (v0 * useful))
        account, h = self.told.account, self.step_h
        account.side += v0 * amps * (1.0 - useful) * h
        account.ohmic += (volts - v0) * amps * h
        account.gas += volts * gas_a * h
        if held:
            self._absorb()
        self._move(bank, -v0 * amps * useful)
        return volts * (amps + gas_a), heater_w, volts

    def _absorb(self) -> None:
        """Count a step at the voltage limit."""
        if self.floating:
            return
        self.absorbed_h += self.step_h
        self.floating = self.absorbed_h >= self.points.absorb_h
        if self.floating and self.since_equalised_h >= EQUALISE_AFTER_H:
            self.since_equalised_h = 0.0

    # --- section 2.8 ---------------------------------------------------------------------
    def _discharge(self, drawn_w: float, bank: Bank) -> float:
        """Draw power at the bus; return the terminal voltage."""
        root = max(bank.v0**2 - 4.0 * bank.out_ohm * drawn_w, 0.0)
        amps = 2.0 * drawn_w / (bank.v0 + math.sqrt(root))
        self.told.account.ohmic += amps * amps * bank.out_ohm * self.step_h
        self._move(bank, drawn_w + amps * amps * bank.out_ohm)
        return bank.v0 - amps * bank.out_ohm

    def _move(self, bank: Bank, out_w: float) -> None:
        """Take power out of the wells (negative: in), and let them leak."""
        store = self.store
        assert store is not None
        available = min(bank.settled - bank.per_w * out_w, store.share * store.full_wh)
        bound = max(self.w0 - out_w * self.step_h - available, 0.0)
        available = max(available, 0.0)
        keep = 1.0 - store.leak_per_h * self.step_h
        self.told.account.leak += (available + bound) * (1.0 - keep)
        self.w1, self.w0 = available * keep, (available + bound) * keep

    def _note(self, t: int, want: Wanted, volts: float, gathered_w: float) -> None:
        told, missing = self.told, 0.0
        for kind in range(3):
            asked_w = self.asked.dc_w[kind][t] + self.asked.ac_w[kind][t]
            told.account.asked += asked_w * self.step_h
            missing += max(asked_w - want.out[kind], 0.0)
        told.filled.append(self.w0 / self.store.full_wh if self.store is not None else 0.0)
        told.volts.append(volts)
        told.gathered_w.append(gathered_w)
        told.unserved_w.append(missing)

    # --- section 2.9 ---------------------------------------------------------------------
    def _switch(self, t: int, volts: float, lowest_v: float) -> None:
        if self.store is None:
            return
        points, tie_v, filled = self.points, self._tie_v(), self.w0 / self.store.full_wh
        if self.connected:
            self.connected = not self._below(t, "open", lowest_v, points.open_below_v, tie_v)
            self.told.disconnects += not self.connected
            self.told.start_trips += not self.connected and volts >= points.open_below_v
        else:
            self.connected = not self._below(t, "close", volts, points.close_above_v, tie_v)
        if self.inverter is not None:
            limit = self.inverter.restart_v if self.inverter_out else self.inverter.cut_v
            self.inverter_out = self._below(t, "inverter", volts, limit, tie_v)
        for kind, level in self.asked.shed_below.items():
            limit = level + 0.10 if kind in self.shed else level
            if self._below(t, f"shed {kind}", filled, limit, TIE_FILLED):
                self.shed.add(kind)
            else:
                self.shed.discard(kind)
        if self.source is not None:
            limit = self.source.stop_above if self.source_runs else self.source.start_below
            self.source_runs = self._below(t, "source", filled, limit, TIE_FILLED)
