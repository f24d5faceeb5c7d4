/* The kernel's physics as a plain C loop: one design after the other, time inside.
 *
 * Written from the equations, for measuring the kernel against; column numbers (layout.h)
 * are generated from sunpantry.simulate.layout. Left out: loads that can wait, traces, and
 * the charge begun by the clock in the polar day, which the measured designs do not have.
 */
#include <math.h>
#include <stdint.h>

#include "layout.h"

static inline double least(double a, double b) { return a < b ? a : b; }
static inline double most(double a, double b) { return a > b ? a : b; }

typedef struct {
    double available, bound;
    double connected, floating, absorbed_h, equalised_h;
    double shed_should, shed_may, backup, inverter_out;
    double day_low, day_high, year_low, year_high;
    double gap_h, must_gap_h;
    double asked[3], missed[3], spent_h[3];
    /* Nothing switches while state of charge and voltage stay in between. */
    double least_filled, most_filled, least_v, most_v;
    double on[3], ac_on;
    int64_t last_full;
} State;

static double open_circuit(const double *curve, int64_t points, double head) {
    double place = head * (double)(points - 1);
    if (place <= 0.0) return curve[0];
    if (place >= (double)(points - 1)) return curve[points - 1];
    int64_t left = (int64_t)place;
    return curve[left] + (place - (double)left) * (curve[left + 1] - curve[left]);
}

static double discharge_current(double power, double open_v, double ohm) {
    double under = open_v * open_v - 4.0 * ohm * power;
    if (under <= 0.0) return open_v / (2.0 * ohm);
    return 2.0 * power / (open_v + sqrt(under));
}

static double charge_resistance(const double *d, double cold, double filled) {
    return d[CHARGE_OHM] * cold * (1.0 + d[TAPER] * filled / (d[TAPER_REACH] - filled));
}

static int surge_trips(const double *d, double running, double surge, double open_v,
                       double drained) {
    double ohm = d[SURGE_OHM] * drained;
    double peak = running + surge * (1.0 + d[INVERTER_K1]);
    double under = open_v * open_v - 4.0 * ohm * peak;
    if (under <= 0.0) return 1;
    return 0.5 * (open_v + sqrt(under)) < d[INVERTER_CUT_V];
}

/* Voltage while the hardest start falls on the bank; a charge current is given up first. */
static double start_v(const double *d, double surge, double connected, double volts, double into_a,
                      double open_v, double drained) {
    double from = volts;
    if (into_a > 0.0) {
        surge -= into_a * volts;
        from = open_v;
    }
    if (surge <= 0.0 || connected == 0.0) return volts;
    double under = from * from - 4.0 * d[SURGE_OHM] * drained * surge;
    return under > 0.0 ? 0.5 * (from + sqrt(under)) : 0.0;
}

static double array_power(const double *d, const float *sun, int64_t width, int64_t place,
                          double open_v, double ohm_in, double ohm_out, double loaded,
                          double target, double *offered) {
    const float *source = sun + (int64_t)d[SOURCE] * 3 * width + place;
    double first = source[0], second = source[width], third = source[2 * width];
    *offered = 0.0;
    if (first <= 0.0) return 0.0;
    first *= d[STRINGS];
    if (d[IS_MPPT] > 0.0) {
        *offered = first;
        if (third < open_v + d[HEADROOM_V]) return 0.0;
        double useful = first * d[CONVERSION];
        double above = least(d[HEADROOM_V], 1.0);
        if (second < target + above || useful > d[RATED_A] * open_v) {
            double volts = open_v + ohm_in * most(useful - loaded, 0.0) / open_v;
            volts = most(least(volts, target), open_v);
            double needed = volts + above;
            if (second < needed) {
                if (third <= needed) return 0.0;
                double x = (needed - second) / (third - second);
                useful *= 1.0 - x * x * (0.7 + 0.3 * x);
            }
            useful = least(useful, d[RATED_A] * volts);
        }
        if (d[PANEL_LIMIT_W] > 0.0) useful = least(useful, d[PANEL_LIMIT_W]);
        return useful;
    }
    second *= d[STRINGS];
    double bend = third * d[STRINGS] - 2.0 * second + first;
    double slope = second - first - 0.5 * bend;
    bend *= 0.5;
    double highest = most(target, open_v);
    double x = (open_v - d[NODE_LOW_V]) / d[NODE_STEP_V];
    double amps = least(most(first + x * (slope + x * bend), 0.0), d[RATED_A]);
    double net = amps - loaded / open_v;
    double volts = most(open_v + (net > 0.0 ? ohm_in : ohm_out) * net, 0.5 * open_v);
    if (volts < highest) {
        x = (volts - d[NODE_LOW_V]) / d[NODE_STEP_V];
        amps = least(most(first + x * (slope + x * bend), 0.0), d[RATED_A]);
        net = amps - loaded / open_v * (2.0 - volts / open_v);
        volts = most(open_v + (net > 0.0 ? ohm_in : ohm_out) * net, 0.5 * open_v);
    }
    volts = least(volts, highest);
    x = (volts - d[NODE_LOW_V]) / d[NODE_STEP_V];
    amps = least(most(first + x * (slope + x * bend), 0.0), d[RATED_A]);
    *offered = volts * amps;
    return volts * amps * d[CONVERSION];
}

/* Puts a surplus into the bank; returns the power taken at the terminals. */
static double charge(const double *d, State *s, double *totals, double surplus, double room,
                     double open_v, double cold, double ohm, double filled, double target,
                     double cell_c, double h, double *stored, double *heater, double *volts) {
    double limit = d[MAX_CHARGE_A];
    *stored = *heater = 0.0;
    *volts = open_v;
    if (cell_c > d[MAX_CHARGE_C]) return 0.0;
    if (cell_c < d[MIN_CHARGE_C]) limit = 0.0;
    else if (cell_c < d[MIN_CHARGE_C] + 10.0) limit = least(limit, d[COLD_CHARGE_A]);
    if (limit <= 0.0) {
        totals[T_FROZEN_H] += h;
        if (d[HEATER_W] <= 0.0 || surplus <= d[HEATER_W]) return 0.0;
        *heater = d[HEATER_W];
        surplus -= *heater;
        limit = d[COLD_CHARGE_A];
    }
    double rise = target - open_v, amps = 0.0;
    int limited = 1;
    if (rise > 0.0 && 2.0 * surplus * ohm < target * rise) {
        limited = 0;
        amps = least(2.0 * surplus / (open_v + sqrt(open_v * open_v + 4.0 * ohm * surplus)), limit);
        *volts = open_v + amps * ohm;
    } else if (rise > 0.0) {
        double rough = least(least(surplus / target, limit), rise / ohm);
        double middle = filled + 0.5 * rough * open_v * h / d[FULL_WH];
        ohm = charge_resistance(d, cold, most(least(middle, 0.9995), filled));
        limited = !(surplus * ohm < target * rise || limit * ohm < rise);
        if (limited) {
            amps = rise / ohm;
            *volts = target;
        } else {
            double root = sqrt(open_v * open_v + 4.0 * ohm * surplus);
            amps = least(2.0 * surplus / (open_v + root), limit);
            *volts = open_v + amps * ohm;
        }
    }
    double gas = 0.0;
    if (d[GAS_A] > 0.0) {
        gas = d[GAS_A] * exp(11.0 * (*volts / d[CELLS] - 2.23) + 0.06 * (cell_c - 20.0));
        if (!limited) {
            gas = least(gas, amps);
            amps -= gas;
        } else if ((amps + gas) * *volts > surplus) {
            double whole = surplus / *volts;
            gas = least(gas, whole);
            amps = least(amps, whole - gas);
        }
        totals[T_GAS] += *volts * gas * h;
        totals[T_GAS_AH] += gas * h;
    }
    double inner = open_v * amps;
    *stored = inner * d[COULOMBIC];
    if (*stored > room) {
        amps *= most(room, 0.0) / *stored;
        inner = open_v * amps;
        *stored = inner * d[COULOMBIC];
    }
    if (limited && s->floating == 0.0) {
        s->absorbed_h += h;
        if (s->absorbed_h >= d[ABSORB_H]) {
            s->floating = 1.0;
            if (s->equalised_h >= 672.0) s->equalised_h = 0.0;
        }
    }
    totals[T_COULOMBIC] += (inner - *stored) * h;
    totals[T_OHMIC] += (*volts - open_v) * amps * h;
    return *volts * (amps + gas);
}

/* Leaves classes out until the BMS lets the rest through; returns the inverter's overhead. */
static double within_limit(const double *d, double left, double overhead, double *dc, double *ac) {
    double standing = ac[0] + ac[1] + ac[2] > 0.0 ? 0.0 : overhead;
    for (int stay = 3;; stay--) {
        if (stay < 3) dc[stay] = ac[stay] = 0.0;
        double carried = ac[0] + ac[1] + ac[2];
        overhead = carried > 0.0 ? d[INVERTER_P0] + d[INVERTER_K2] * carried * carried : standing;
        double wanted = dc[0] + dc[1] + dc[2] + carried * (1.0 + d[INVERTER_K1]) + overhead;
        if (stay == 0 || wanted <= left * (1.0 + 1e-9)) return overhead;
    }
}

static void stand_by(const double *d, State *s) {
    s->least_filled = -1.0;
    s->most_filled = s->most_v = 1e30;
    s->least_v = 0.0;
    if (s->connected > 0.0) s->least_v = d[DISCONNECT_V];
    else s->most_v = d[RECONNECT_V];
    if (s->inverter_out > 0.0) s->most_v = least(s->most_v, d[INVERTER_RESTART_V]);
    else s->least_v = most(s->least_v, d[INVERTER_CUT_V]);
    const double shed[2] = {s->shed_should, s->shed_may};
    for (int k = 0; k < 2; k++) {
        double level = d[SHED_SHOULD + k];
        if (shed[k] > 0.0) s->most_filled = least(s->most_filled, level + 0.10);
        else s->least_filled = most(s->least_filled, level);
    }
    if (d[BACKUP_W] > 0.0) {
        if (s->backup > 0.0) s->most_filled = least(s->most_filled, d[BACKUP_OFF]);
        else s->least_filled = most(s->least_filled, d[BACKUP_ON]);
    }
    s->on[0] = s->connected;
    s->on[1] = s->connected * (1.0 - s->shed_should);
    s->on[2] = s->connected * (1.0 - s->shed_may);
    s->ac_on = 1.0 - s->inverter_out;
}

static void switches(const double *d, State *s, double *totals, double *year, double volts,
                     double lowest, double filled) {
    if (s->connected > 0.0) {
        if (lowest < d[DISCONNECT_V]) {
            s->connected = 0.0;
            totals[T_TRIPS] += 1.0;
        }
    } else if (volts > d[RECONNECT_V]) s->connected = 1.0;
    if (s->inverter_out > 0.0) {
        if (volts > d[INVERTER_RESTART_V]) s->inverter_out = 0.0;
    } else if (volts < d[INVERTER_CUT_V]) s->inverter_out = 1.0;
    double *shed[2] = {&s->shed_should, &s->shed_may};
    for (int k = 0; k < 2; k++) {
        double level = d[SHED_SHOULD + k];
        if (*shed[k] > 0.0) {
            if (filled > level + 0.10) *shed[k] = 0.0;
        } else if (filled < level) *shed[k] = 1.0;
    }
    if (d[BACKUP_W] > 0.0) {
        if (s->backup > 0.0) {
            if (filled > d[BACKUP_OFF]) s->backup = 0.0;
        } else if (filled < d[BACKUP_ON]) {
            s->backup = 1.0;
            year[Y_BACKUP_STARTS] += 1.0;
        }
    }
    stand_by(d, s);
}

static void note_asked(State *s, const double *load, int64_t steps, double h) {
    double sum[3] = {0.0, 0.0, 0.0};
    for (int64_t i = steps - 1; i >= 0; i--)
        for (int k = 0; k < 3; k++)
            sum[k] += load[i * LOAD_COLUMNS + L_DC + k] + load[i * LOAD_COLUMNS + L_AC + k];
    for (int k = 0; k < 3; k++) s->asked[k] += sum[k] * h;
}

static void note_service(State *s, double *totals, double *year, const double *asked,
                         const double *got, double h) {
    double less[3] = {0.0, 0.0, 0.0}, worst = 0.0;
    int whole = 1;
    for (int k = 0; k < 3; k++) {
        if (got[k] < asked[k]) {
            whole = 0;
            double missing = asked[k] - got[k];
            if (missing <= 1e-9 * asked[k]) continue;
            s->missed[k] += missing * h;
            less[k] = missing / asked[k];
            year[Y_HOURS + k] += less[k] * h;
            worst = most(worst, less[k]);
        }
    }
    if (whole && s->gap_h <= 0.0) return;
    year[Y_ANY_HOURS] += worst * h;
    if (worst > 0.0) s->gap_h += h;
    else if (s->gap_h > 0.0) s->gap_h = asked[0] + asked[1] + asked[2] > 0.0 ? 0.0 : s->gap_h + h;
    totals[T_LONGEST_GAP] = most(totals[T_LONGEST_GAP], s->gap_h);
    if (less[0] > 0.0) s->must_gap_h += h;
    else if (s->must_gap_h > 0.0) s->must_gap_h = asked[0] > 0.0 ? 0.0 : s->must_gap_h + h;
    totals[T_LONGEST_MUST_GAP] = most(totals[T_LONGEST_MUST_GAP], s->must_gap_h);
}

static void step(const double *d, State *s, double *totals, double *year, const float *sun,
                 int64_t width, int64_t place, const double *curve, int64_t points,
                 const double *load, double cell_c, double h, int64_t t) {
    double full = d[FULL_WH], well = d[AVAILABLE] * full;
    double whole = s->available + s->bound, filled = whole / full;
    double kept = least(most(d[COLD_CAPACITY] * (25.0 - cell_c), 0.0), 0.9);
    double head = (s->available / well - kept) / (1.0 - kept);
    double open_v = open_circuit(curve, points, head);
    double cold = most(0.7, 1.0 + d[COLD_CHARGE_RESISTANCE] * (25.0 - cell_c));
    double stiff = most(0.7, 1.0 + d[COLD_RESISTANCE] * (25.0 - cell_c));
    double drained = stiff * (1.0 + d[DRAIN] * (1.0 - filled) / (d[DRAIN_REACH] - (1.0 - filled)));
    double ohm_out = d[DISCHARGE_OHM] * drained;

    double dc[3], ac[3], asked[3], got[3];
    double ac_on = s->ac_on, dc_sum = 0.0;
    for (int k = 0; k < 3; k++) {
        dc[k] = load[L_DC + k] * s->on[k];
        ac[k] = load[L_AC + k] * s->on[k] * ac_on;
        asked[k] = load[L_DC + k] + load[L_AC + k];
        dc_sum += dc[k];
    }
    double carried = ac[0] + ac[1] + ac[2];
    if (carried > 0.0) {
        if (carried > d[INVERTER_W]) {
            ac[2] = 0.0;
            if (ac[0] + ac[1] > d[INVERTER_W]) ac[1] = 0.0;
            if (ac[0] + ac[1] > d[INVERTER_W]) ac[0] = 0.0;
        }
        carried = ac[0] + ac[1] + ac[2];
        if (load[L_SURGE] > 0.0 && carried > 0.0 &&
            surge_trips(d, carried + dc_sum, load[L_SURGE], open_v, drained))
            carried = ac[0] = ac[1] = ac[2] = 0.0;
    }
    double overhead = carried > 0.0 ? d[INVERTER_P0] + d[INVERTER_K2] * carried * carried
                                    : d[INVERTER_IDLE_W] * load[L_IDLE] * s->connected * ac_on;
    double grow = 1.0 + d[INVERTER_K1];
    if (d[OUTPUT_W_MIN] > 0.0 &&
        dc_sum + carried * grow + overhead + load[L_DC_SURGE + 2] < d[OUTPUT_W_MIN]) {
        for (int k = 0; k < 3; k++) dc[k] = ac[k] = 0.0;
        dc_sum = carried = overhead = 0.0;
    }
    double own = d[OWN_A] * open_v;
    double used = dc_sum + carried * grow + overhead + own;

    double target = 0.0, ohm_in = 0.0, offered = 0.0, side = 0.0, backup = 0.0;
    if (s->backup > 0.0 && load[L_BACKUP] > 0.0) {
        backup = d[BACKUP_W];
        year[Y_BACKUP_H] += h;
    }
    if (place >= 0 || backup > 0.0) {
        ohm_in = charge_resistance(d, cold, filled);
        target = s->floating > 0.0 ? d[FLOAT_V]
                 : d[EQUALISE_V] > 0.0 && s->equalised_h >= 672.0 ? d[EQUALISE_V]
                                                                  : d[ABSORB_V];
        target += d[COMP_V_PER_K] * (cell_c - 25.0);
    }
    if (place < 0) s->floating = s->absorbed_h = 0.0;
    if (place >= 0)
        side = array_power(d, sun, width, place, open_v, ohm_in, ohm_out, used, target, &offered);
    double supply = side + backup;

    double settled = d[KEEP] * s->available + d[REFILL] * whole;
    double into_a = 0.0;
    double inner, volts = open_v, taken = 0.0, heater = 0.0, lost = overhead + d[INVERTER_K1] * carried;
    for (int k = 0; k < 3; k++) got[k] = dc[k] + ac[k];
    if (supply > used) {
        double room = (full - whole) / h;
        double stored;
        taken = charge(d, s, totals, supply - used, room, open_v, cold, ohm_in, filled, target,
                       cell_c, h, &stored, &heater, &volts);
        into_a = taken / volts;
        used += heater;
        own += heater;
        inner = -stored;
    } else {
        double need = used - supply;
        double kept_wh = cell_c < d[MIN_DISCHARGE_C] ? well : kept * well;
        double limit = least(most((settled - kept_wh) / d[DRAW_H], 0.0),
                             d[MAX_DISCHARGE_A] * open_v);
        double amps = discharge_current(need, open_v, ohm_out);
        if (open_v * amps > limit || 4.0 * ohm_out * need >= open_v * open_v) {
            amps = least(limit / open_v, 0.5 * open_v / ohm_out);
            double bank = amps * (open_v - amps * ohm_out);
            own = least(own, supply + bank);
            double left = most(supply + bank - own, 0.0);
            if (d[BMS] > 0.0) {
                double top = least(d[MAX_DISCHARGE_A], 0.5 * open_v / ohm_out);
                double more = top * (open_v - top * ohm_out) - bank;
                overhead = within_limit(d, left + more, overhead, dc, ac);
            }
            double given = least(left, overhead), sum = given;
            left -= given;
            lost = given;
            for (int k = 0; k < 3; k++) {
                double bus = dc[k] + ac[k] * grow;
                given = least(left, bus);
                left -= given;
                got[k] = bus > 0.0 ? (dc[k] + ac[k]) * (given / bus) : 0.0;
                lost += given - got[k];
                sum += given;
            }
            used = own + sum;
            amps = discharge_current(least(most(used - supply, 0.0), bank), open_v, ohm_out);
        }
        totals[T_THROUGHPUT] += amps * open_v * h;
        totals[T_OHMIC] += amps * amps * ohm_out * h;
        volts = open_v - amps * ohm_out;
        inner = amps * open_v;
    }
    if (supply > 0.0) {
        double from_backup = least(backup, most(used + taken - side, 0.0));
        double from_array = most(least(side, used + taken - from_backup), 0.0);
        double gathered = from_array / d[CONVERSION];
        totals[T_GATHERED] += gathered * h;
        totals[T_CONVERSION] += (gathered - from_array) * h;
        totals[T_BACKUP] += from_backup * h;
    }
    totals[T_OFFERED] += offered * h;
    totals[T_OWN] += own * h;
    totals[T_INVERTER] += lost * h;

    double available = least(settled - d[DRAW_H] * inner, well);
    double bound = most(whole - inner * h - available, 0.0);
    available = most(available, 0.0);
    double leak = d[LEAK_PER_H] * h;
    totals[T_LEAK] += leak * (available + bound);
    s->available = available * (1.0 - leak);
    s->bound = bound * (1.0 - leak);
    filled = (s->available + s->bound) / full;

    double lowest = volts;
    if (load[L_DC_SURGE + 2] > 0.0) {
        int kind = s->shed_should > 0.0 ? 0 : s->shed_may > 0.0 ? 1 : 2;
        double surge = load[(d[RIDES_STARTS] > 0.0 ? L_DC_PEAK : L_DC_SURGE) + kind];
        lowest = start_v(d, surge, s->connected, volts, into_a, open_v, drained);
    }
    note_service(s, totals, year, asked, got, h);
    if (filled < s->least_filled || filled > s->most_filled || lowest < s->least_v ||
        volts > s->most_v)
        switches(d, s, totals, year, volts, lowest, filled);
    s->day_high = most(s->day_high, filled);
    s->day_low = least(s->day_low, filled);
    if (filled < 0.40) totals[T_LOW_H] += h;
    else if (filled >= 0.98) {
        totals[T_UNFILLED_H] += most((double)(t - s->last_full - 1) * h - 336.0, 0.0);
        s->last_full = t;
    }
}

static double wear(const double *d, double depth) {
    return depth > 0.0 ? d[WEAR_PER_CYCLE] * pow(depth, d[WEAR_EXPONENT]) : 0.0;
}

static void end_of_year(const double *d, State *s, double *totals, double *year) {
    for (int k = 0; k < 3; k++) {
        year[Y_ASKED + k] += s->asked[k];
        year[Y_UNSERVED + k] += s->missed[k];
        totals[T_SERVED + k] += s->asked[k] - s->missed[k];
        s->spent_h[k] += year[Y_HOURS + k];
        s->asked[k] = s->missed[k] = 0.0;
    }
    year[Y_LOWEST] = s->year_low;
    totals[T_WEAR] += wear(d, s->year_high - s->year_low);
    s->year_low = 1.0;
    s->year_high = 0.0;
}

void run_designs(int64_t count, int64_t years, int64_t steps, int64_t lit, int64_t points,
                 int64_t load_steps, const double *designs, const float *sun,
                 const int64_t *sun_place, const double *curves, const double *cells_c,
                 const double *loads, const double *allowed_h, double h, double *all_totals,
                 double *yearly) {
    int64_t per_day = (int64_t)(24.0 / h + 0.5), width = years * lit;
    for (int64_t n = 0; n < count; n++) {
        const double *d = designs + n * DESIGN_COLUMNS;
        const double *curve = curves + (int64_t)d[CURVE] * points;
        const double *cell = cells_c + (int64_t)d[ENVIRONMENT] * years * steps;
        const double *load = loads + (int64_t)d[LOADS] * load_steps * LOAD_COLUMNS;
        double *totals = all_totals + n * TOTAL_COLUMNS;
        State s = {.available = d[AVAILABLE] * d[FULL_WH], .connected = 1.0,
                   .day_low = 1.0, .day_high = 1.0, .year_low = 1.0, .last_full = -1};
        s.bound = d[FULL_WH] - s.available;
        totals[T_STORED_FIRST] = d[FULL_WH];
        stand_by(d, &s);
        int64_t at_load = 0;
        for (int64_t y = 0; y < years && totals[T_STOPPED] == 0.0; y++) {
            double *year = yearly + (n * years + y) * YEAR_COLUMNS;
            for (int64_t i = 0; i < steps; i++) {
                int64_t t = y * steps + i;
                int64_t place = sun_place[i] < 0 ? -1 : sun_place[i] + y * lit;
                step(d, &s, totals, year, sun, width, place, curve, points,
                     load + at_load * LOAD_COLUMNS, cell[t], h, t);
                at_load++;
                if ((i + 1) % per_day == 0) {
                    note_asked(&s, load + (at_load - per_day) * LOAD_COLUMNS, per_day, h);
                    totals[T_WEAR] += wear(d, s.day_high - s.day_low);
                    if (s.day_high >= 0.98) year[Y_FULL_DAYS] += 1.0;
                    s.year_high = most(s.year_high, s.day_high);
                    s.year_low = least(s.year_low, s.day_low);
                    s.equalised_h += 24.0;
                    s.day_high = s.day_low = (s.available + s.bound) / d[FULL_WH];
                    for (int k = 0; k < 3; k++)
                        if (allowed_h[k] >= 0.0 && s.spent_h[k] + year[Y_HOURS + k] > allowed_h[k])
                            totals[T_STOPPED] = 1.0;
                    if (totals[T_STOPPED] > 0.0) break;
                }
                if (at_load == load_steps) at_load = 0;
            }
            end_of_year(d, &s, totals, year);
        }
        totals[T_STORED_LAST] = s.available + s.bound;
    }
}
