"""Where each number lies in the arrays that the kernel reads and writes.

Numba takes plain module constants into compiled code, so these are integers, not an
enum. The order within an array carries no meaning.
"""

from __future__ import annotations

# --- what a design is: columns of `designs[design, ...]` --------------------------------
SOURCE = 0  # row of the sun arrays
STRINGS = 1  # parallel strings of that source [-]
IS_MPPT = 2
CONVERSION = 3  # efficiency of the controller [-]
RATED_A = 4  # charge current limit, all controllers [A]
HEADROOM_V = 5  # MPPT: string volts at no load above the battery, needed to start [V]
OWN_A = 6  # the controller's own consumption [A]
ABSORB_V = 7  # target at 25 °C [V]
FLOAT_V = 8
EQUALISE_V = 9  # 0: never
ABSORB_H = 10
COMP_V_PER_K = 11  # whole bank [V/K], 0 without a sensor
DISCONNECT_V = 12
RECONNECT_V = 13
NODE_LOW_V = 14  # PWM: battery volts of the three tabulated currents: low, low + d, low + 2d
NODE_STEP_V = 15
CURVE = 16  # row of the voltage curves
FULL_WH = 17  # energy of both wells, full
KEEP = 18
REFILL = 19
DRAW_H = 20
AVAILABLE = 21  # share of the available well
DISCHARGE_OHM = 22
CHARGE_OHM = 23
SURGE_OHM = 24
TAPER = 25
TAPER_REACH = 26
COULOMBIC = 27
GAS_A = 28  # gassing current at 2.23 V a cell and 20 °C [A]
CELLS = 29
COLD_CAPACITY = 30  # per kelvin
COLD_RESISTANCE = 31  # of the resistance on discharge, per kelvin
LEAK_PER_H = 32  # self-discharge
MAX_CHARGE_A = 33
MAX_DISCHARGE_A = 34
MIN_CHARGE_C = 35
COLD_CHARGE_A = 36  # limit between MIN_CHARGE_C and ten kelvin above it
HEATER_W = 37
ENVIRONMENT = 38  # row of the battery temperatures
LOADS = 39  # row of the load arrays
INVERTER_W = 40  # rated [W], 0: none
INVERTER_P0 = 41  # loss model P0 + K1 P + K2 P^2 [W, -, 1/W]
INVERTER_K1 = 42
INVERTER_K2 = 43
INVERTER_CUT_V = 44
WEAR_PER_CYCLE = 45  # wear of a cycle of depth 1 [-]
WEAR_EXPONENT = 46
BACKUP_W = 47  # second source at the battery terminals [W], 0: none
BACKUP_ON = 48  # starts below this state of charge
BACKUP_OFF = 49
TRACE = 50  # row of the trace array, -1: none
OUTPUT_W_MIN = 51  # a power bank turns itself off below this power at its cells [W]
PANEL_LIMIT_W = 52  # largest input power of the controller(s) [W], 0: none stated
SHED_SHOULD = 53  # state of charge below which 'should' loads are switched off
SHED_MAY = 54
INVERTER_IDLE_W = 55  # drawn while on without a load: idling, or searching
INVERTER_RESTART_V = 56  # comes back above this after its own low-voltage cut-off
TRANSFER = 57  # 1: the second source carries the AC loads and does not charge
DRAIN = 58  # resistance on discharge grows as the bank empties: Shepherd M and C
DRAIN_REACH = 59
BMS = 60  # 1: cuts off whole classes of loads at MAX_DISCHARGE_A, not a share of them
MAX_CHARGE_C = 61
OUTPUT_A = 62  # the load terminals carry this much [A], 0: nothing hangs on them
OUTPUT_DC = 63  # 1: the DC loads hang on the load terminals
OUTPUT_AC = 64  # 1: so does the inverter
MIN_DISCHARGE_C = 65  # colder than this the bank gives nothing
RIDES_STARTS = 66  # 1: the low-voltage disconnect waits longer than a start lasts
COLD_CHARGE_RESISTANCE = 67  # of the resistance on charge, per kelvin
DESIGN_COLUMNS = 68

# --- what is asked in a step: columns of `loads[load set, step, ...]` ------------------------
L_DC = 0  # + class [W at the battery bus]
L_AC = 3  # + class [W at the inverter's output]
L_IDLE = 6  # 1: the inverter is switched on even without a load
L_SURGE = 7  # starting surge on the AC side above the mean power [W]
L_BACKUP = 8  # 1: the second source may run
# Highest draw on the DC side above its mean power, the hardest start on top, if the classes
# up to this one are on: + class [W at the battery bus]
L_DC_SURGE = 9
L_DC_PEAK = 12  # the same without any start: + class
LOAD_COLUMNS = 15

# How far above the switching-off level a shed class comes back [-].
SHED_HYSTERESIS = 0.10
# A tracker at work needs its array this far above the bank, or its headroom to start where
# that is less [V]: common practice, no source.
RUNNING_HEADROOM_V = 1.0

# --- what a design is at a moment: columns of `states[design, ...]` -----------------------
S_AVAILABLE = 0  # content of the available well [Wh]
S_BOUND = 1
S_CONNECTED = 2  # 1: the loads are on, 0: the low-voltage disconnect is open
S_FLOATING = 3
S_ABSORBED_H = 4
S_SHED_SHOULD = 5  # 1: switched off to save the more important
S_SHED_MAY = 6
S_BACKUP = 7  # 1: running
S_INVERTER_OUT = 8  # 1: off by its own low-voltage cut-off
S_DAY_LOW = 9
S_DAY_HIGH = 10
S_YEAR_LOW = 11
S_YEAR_HIGH = 12
S_LAST_FULL = 13  # step after which the bank was last full
S_EQUALISED_H = 14  # hours since the last equalising charge was finished
S_GAP_H = 15
S_MUST_GAP_H = 16
S_ASKED = 17  # + class: asked for by the loads that cannot wait, this year up to today [Wh]
S_MISSED = 20  # + class: of that, not delivered [Wh]
S_SPENT_H = 23  # + class: hours without power in the years before this
S_NIGHT = 26  # 1: it has been dark today
# worked out once for each design, so that a step need not divide
D_WELL = 27  # capacity of the available well [Wh]
D_PER_WELL = 28  # one over it [1/Wh]
D_PER_FULL = 29
D_PER_DRAW = 30
D_PER_GAP = 31
D_PER_CONVERSION = 32
D_PER_CELLS = 33
D_PER_STEP = 34
D_KEPT = 35  # share left after a step's self-discharge
# worked out whenever something switches
D_ON = 36  # + class: 1 while the loads of that class are on
D_AC_ON = 39  # 1: the inverter carries them
D_LEAST_FILLED = 40  # nothing switches while state of charge and voltage stay in between
D_MOST_FILLED = 41
D_LEAST_V = 42
D_MOST_V = 43
# how it stands in the present step, handed from one part of the step to the next
N_CELL_C = 44  # battery temperature [°C]
N_WHOLE = 45  # content of both wells [Wh]
N_KEPT_WH = 46  # of the available well, kept back by the cold [Wh]
N_OPEN_V = 47
N_COLD = 48  # factor on the resistance on charge [-]
N_DRAINED = 49  # factor on the resistance on discharge [-]
N_DC = 50  # + class: switched on, on the DC side [W]
N_AC = 53  # + class: and at the inverter's output [W]
N_OVERHEAD = 56  # of the inverter [W]
N_USED = 57  # by all that is switched on, at the battery bus [W]
N_ROOF_W = 58  # from the array, at the battery side of the controller [W]
N_BACKUP_W = 59  # from the second source [W]
N_OFFERED = 60  # by the array [W]
N_TARGET_V = 61  # the controller holds at most [V]
N_CHARGE_OHM = 62
N_DRAWN_A = 63  # from the bank, were there no limits; negative on charge [A]
N_LESS = 64  # 1: not all that is asked for is served
N_GOT = 65  # + class: delivered [W]
N_WAITED = 68  # delivered to loads that can wait [W]
N_START_W = 69  # hardest start among those at work on the DC side, above its power [W]
N_GATHERED = 70  # taken from the array [W]
N_VOLTS = 71  # at the bank, means of the step [V, A]
N_AMPS = 72
N_FILLED = 73  # state of charge at the end [-]
STATE_COLUMNS = 74

# --- rows of the shared arrays that a design points to: columns of `points[design, ...]` ------
P_SOURCE = 0
P_CURVE = 1
P_ENVIRONMENT = 2
P_LOADS = 3
POINT_COLUMNS = 4

# --- flexible loads: columns of `flexible[loads, queue, ...]` ---------------------------
FLEX_W = 0
FLEX_DEADLINE = 1  # steps
FLEX_LEVEL = 2  # state of charge above which it may run; above 1: only from surplus sun
FLEX_IS_AC = 3
FLEX_CLASS = 4
FLEX_LEAST_W = 5  # it does not start below this power
FLEX_HOLDS = 6  # a store: what is wanted beyond this is lost [Wh], 0: jobs with a deadline
FLEX_DAY = 7  # most it may do in a day [Wh], 0: no limit
FLEX_START = 8  # waiting when the run begins [Wh]
FLEX_SURGE_W = 9  # its start draws this much above its power [W]
FLEX_COLUMNS = 10

# --- results -----------------------------------------------------------------------------
MUST, SHOULD, MAY = 0, 1, 2
CLASSES = 3

# columns of `yearly[design, year, ...]`
Y_HOURS = 0  # + class: hours with any of it unserved
Y_UNSERVED = 3  # + class: energy asked for and not delivered [Wh]
Y_ASKED = 6  # + class
Y_LOWEST = 9  # lowest state of charge
Y_BACKUP_H = 10
Y_BACKUP_STARTS = 11
Y_ANY_HOURS = 12  # hours in which anything was unserved
Y_FULL_DAYS = 13  # days on which the bank got full
Y_BACKUP_WH = 14  # brought in by the second source
YEAR_COLUMNS = 15

# columns of `totals[design, ...]`: the energy audit [Wh] and what ageing needs
T_OFFERED = 0  # the array could have given (at its operating point or maximum power)
T_GATHERED = 1  # taken from the array
T_CONVERSION = 2  # lost in the controller
T_OWN = 3  # the controller's own consumption, heater included
T_SERVED = 4  # + class: delivered at the loads' supply
T_INVERTER = 7  # lost in the inverter, idling included
T_OHMIC = 8  # lost in the battery's resistance
T_COULOMBIC = 9  # lost in side reactions
T_GAS = 10  # spent splitting water
T_LEAK = 11  # self-discharge
T_BACKUP = 12  # brought in by the second source
T_STORED_FIRST = 13
T_STORED_LAST = 14
T_THROUGHPUT = 15  # taken out of the wells
T_WEAR = 16  # sum of cycle wear over the run
T_LOW_H = 17  # hours below 40 %
T_UNFILLED_H = 18  # hours later than 14 days after the last full charge
T_LONGEST_GAP = 19  # longest clock time without full service of any class, in hours
T_GAS_AH = 20
T_TRIPS = 21  # times the low-voltage disconnect opened
T_STOPPED = 22  # 1: given up because the promise was already broken
T_LONGEST_MUST_GAP = 23
T_FROZEN_H = 24  # hours in which the cold kept the battery from taking a surplus
TOTAL_COLUMNS = 25

# columns of `monthly[design, month, ...]`, sums over all years
M_OFFERED = 0
M_GATHERED = 1
M_SERVED = 2
M_UNSERVED = 3
M_HOURS = 4
M_LOWEST = 5
M_SOC = 6  # sum of state of charge over steps
M_STEPS = 7
MONTH_COLUMNS = 8

# columns of `trace[row, ..., step]`
TR_SOC = 0
TR_VOLT = 1
TR_PV = 2  # power taken from the array
TR_OFFERED = 3
TR_LOAD = 4  # delivered to loads
TR_UNSERVED = 5
TR_CURRENT = 6  # battery current, positive: charging
TR_MUST = 7  # share of each class served in the step, 1 where nothing was asked
TR_SHOULD = 8
TR_MAY = 9
TRACE_COLUMNS = 10
# behind them for each queue: power of what is done [W], and what is given up [Wh]
TR_DONE, TR_GIVEN_UP = 0, 1
TRACE_QUEUE_COLUMNS = 2
