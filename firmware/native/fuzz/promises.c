// Lease, trip, stop, over-current, pulse, duty, on-time, supply, DAC, build: each a few lines, and a sentence when it is
// broken.
#include "promises.h"

#include <string.h>

#include "../../core/line/dispatch.h"
#include "../../core/safety/guard.h"
#include "../../core/safety/work.h"
#include "../bench.h"

#define LEASE_US 500000u
#define OVER_CURRENT_US 1300u
#define DUTY_WINDOW_MS 10000u
#define DUTY_US 1000000u
#define PULSE_US 500000u
#define RECENT_MS 750u // in which pulses may be on for no more together than one
#define LARGE_BRANCHES (OUT_BRANCHES & ~(1u << OUT_BRANCH_SHIFT)) // but for that of 1 A
#define WATCH_SPARE_MS 10u                                        // for the last conversion of watch_load
// From a request to the step that counts its on-time: the bus asked (3 ms if it is held, and let go meanwhile), DAC,
// 3 + 1 ms of settling, two ticks; and until the contacts rest, 40 ms and a tick.
#define BEGIN_US (12000u + RESTS_US + (evening ? LEADS_US : 0))
#define RESTS_US 41000u
#define LEAD_US 25000u    // from K1 of an evening build to what it feeds
#define LEADS_US 42000u   // and at most, with ticks, and what its time is longer
#define LOOK_MS 140u      // of the evening build's look, from its request on
#define LOOK_LIMIT 110u
#define RESTED_MS 0x1F0u // bits of the milliseconds before the step: the 4th to the 8th
#define SCAN_US 200000u // the same of what a scan left on
#define BEGUN_US (20000u + RESTS_US + (evening ? LEADS_US : 0)) // a load that was asked for so long ago may come on though the bus died meanwhile
#define DAC_US 500000u // from the moment from which it must and can be zero

struct longest longest;

#define LOADS (OUT_BRANCHES | OUT_THROWS)

static uint64_t heard_at, over_since = NEVER, load_since, on_until, dac_wrong_since = NEVER, loaded_sum, loaded_ms, recent_sum;
static uint64_t supply_until; // as on_until, for the supply alone: while nothing or a load alone is on, no time passes
static uint64_t scan_wrong_since = NEVER, bus_since;
static uint16_t outputs, current, limit, pulse_ms, dac;
static uint16_t loaded[DUTY_WINDOW_MS]; // microseconds of load in each of the last milliseconds
static uint64_t loaded_until;           // up to here they are counted
static uint64_t pins_ms; // when bit 0 of pins_moved was
static uint32_t pins_moved; // in each of the last milliseconds
static uint8_t newest, allowed[256][128]; // of orders
static uint8_t question;                  // the newest
static bool orders[128];
static bool stop_open, bus_obeys = true, ports_obey = true, dac_obeys = true, renewed, begun, scanning;
static bool evening, mixed;                // the parts that are fitted
static uint64_t lit_since;

static void must(bool kept, const char *promise)
{
    if (!kept) {
        outside_broken(promise);
    }
}

static void more(uint64_t *most, uint64_t value)
{
    if (value > *most) {
        *most = value;
    }
}

static uint64_t silence(void)
{
    return renewed ? bench_us() - heard_at : NEVER;
}

// --- what comes in ---

void promises_fitted(enum fitted fitted)
{
    evening = fitted == FITTED_EVENING || fitted == FITTED_NO_INA;
    mixed = fitted == FITTED_BOTH || fitted == FITTED_NO_INA;
}

static void mark_over(void)
{
    bool over = (outputs & OUT_COIL) && current >= limit;
    over_since = !over ? NEVER : over_since == NEVER ? bench_us() : over_since;
}

// A request while the coil is off and nothing is in hand begins again; any other may only add to what is allowed.
static void allow(uint16_t on_ms, uint16_t limit_counts)
{
    uint64_t until = bench_us() + on_ms * 1000ull + BEGIN_US;
    bool again = !(outputs & OUT_COIL) && work_in_hand() == 0;
    if (again || until > on_until) {
        on_until = until;
    }
    if ((!(outputs & OUT_LAMP) && work_in_hand() == 0) || until > supply_until) {
        supply_until = until;
    }
    if (again || limit_counts > limit) {
        limit = limit_counts;
    }
    mark_over();
}

static void allow_pulse(uint16_t limit_ms)
{
    bool again = !(outputs & (OUT_BRANCHES | OUT_THROWS)) && work_in_hand() == 0;
    if (again || limit_ms > pulse_ms) {
        pulse_ms = limit_ms;
    }
    uint64_t fed_until = bench_us() + BEGIN_US; // K1's own time, ahead of the load
    supply_until = evening && fed_until > supply_until ? fed_until : supply_until;
}

static bool is_ahead(uint8_t sequence, uint8_t *of, uint8_t most)
{
    bool ahead = (uint8_t)(sequence - *of - 1) < most;
    *of = ahead ? sequence : *of;
    return ahead;
}

uint8_t promises_newest(bool order)
{
    return order ? newest : question;
}

// An order may be done once for each time that it came 1 to ORDERS_AHEAD ahead of the newest, once a host has begun with
// this very start; all_off whenever it comes.
static bool allow_order(const struct heard *request)
{
    bool may = (is_ahead(request->sequence, &newest, ORDERS_AHEAD) && begun) || request->id == ID_ALL_OFF;
    allowed[request->sequence][request->id] += may;
    return may;
}

void promises_answered(uint8_t sequence, uint8_t id, uint8_t result)
{
    bool refused = result == RESULT_REPEAT || result == RESULT_UNKNOWN || result == RESULT_NOT_BEGUN;
    if (orders[id] && !refused) {
        must(allowed[sequence][id] > 0, "an order done twice, out of its sequence, or before a host has begun");
        allowed[sequence][id]--;
    }
}

void promises_heard(const struct heard *request, uint64_t came_us)
{
    const union request *fields = &request->fields;
    bool may = true;
    if (request->order) {
        orders[request->id] = true;
        may = allow_order(request);
    }
    if (!request->well_formed || !may) {
        return;
    }
    begun = begun || (request->id == ID_BEGIN && fields->begin.start == this_start);
    if (request->order || is_ahead(request->sequence, &question, QUESTIONS_AHEAD)) {
        heard_at = came_us;
        renewed = true;
    }
    switch (request->id) {
    case ID_HOLD_COIL:
        allow(fields->hold_coil.on_ms, fields->hold_coil.limit);
        break;
    case ID_STEP_COIL:
        allow(fields->step_coil.on_ms, fields->step_coil.limit);
        break;
    case ID_STAIRCASE:
        allow(fields->staircase.on_ms, fields->staircase.limit);
        break;
    case ID_FOLLOW_COIL:
        allow(fields->follow_coil.on_ms, fields->follow_coil.limit);
        break;
    case ID_SCAN:
        if (evening) {
            allow(LOOK_MS, LOOK_LIMIT);
        }
        break;
    case ID_HOT_STEP:
        allow(fields->hot_step.on_ms, fields->hot_step.limit);
        allow_pulse(fields->hot_step.limit_ms);
        break;
    case ID_LOAD_PULSE:
        allow_pulse(fields->load_pulse.limit_ms);
        break;
    case ID_WATCH_LOAD:
        allow_pulse(fields->watch_load.watch_ms + WATCH_SPARE_MS);
        break;
    default:
        break;
    }
}

void promises_current(uint16_t counts)
{
    promises_kept();
    current = counts;
    mark_over();
}

static void pins_age(void)
{
    uint64_t passed = bench_us() / 1000 - pins_ms;
    pins_moved = passed < 32 ? pins_moved << passed : 0;
    pins_ms += passed;
}

void promises_pins(void)
{
    pins_age();
    pins_moved |= 1;
}

void promises_stop(bool open)
{
    stop_open = open;
}

void promises_bus(bool obeys, bool ports_do, bool dac_does)
{
    bus_since = bus_obeys == obeys ? bus_since : bench_us();
    bus_obeys = obeys;
    ports_obey = ports_do;
    dac_obeys = dac_does;
    dac_wrong_since = scan_wrong_since = NEVER;
}

bool promises_begun(void)
{
    return begun;
}

void promises_after_reset(bool ram_kept)
{
    promises_outputs(0);
    renewed = begun = false;
    bool known = dispatch_newest() == newest && dispatch_question() == question;
    must(known || !ram_kept, "a reset that leaves RAM made the number of the newest order or question forgotten");
    newest = dispatch_newest();
    question = dispatch_question();
    memset(allowed, 0, sizeof allowed);
    dac_wrong_since = scan_wrong_since = NEVER;
}

// --- what it does ---

// Load time up to now, a millisecond a slot.
static void count_load(void)
{
    if (outputs == 0 || ((outputs & LOADS) && !(outputs & OUT_COIL))) {
        supply_until += bench_us() - loaded_until;
    }
    for (uint64_t now = bench_us(); loaded_until < now;) {
        uint64_t ms = loaded_until / 1000, end = (ms + 1) * 1000;
        uint16_t *slot = &loaded[ms % DUTY_WINDOW_MS];
        end = end < now ? end : now;
        if (ms != loaded_ms) {
            loaded_sum -= *slot;
            *slot = 0;
            recent_sum -= loaded[(ms + DUTY_WINDOW_MS - RECENT_MS) % DUTY_WINDOW_MS];
            loaded_ms = ms;
        }
        if (outputs & OUT_BRANCHES) {
            *slot += (uint16_t)(end - loaded_until);
            loaded_sum += end - loaded_until;
            recent_sum += end - loaded_until;
        }
        loaded_until = end;
    }
}

static void scan_alone(void)
{
    must(!scanning || !(outputs & (OUT_COIL | OUT_BRANCHES | OUT_THROWS)), "the coil or a load is on while a scan is");
}

// A step with both throws fed is made after 10 ms of rest. What moves in the 3 ms from the last look to the coil may.
static void step_at_rest(uint16_t now_on)
{
    uint8_t work = work_in_hand();
    bool on = (now_on & OUT_COIL) && !(outputs & OUT_COIL) && (now_on & OUT_DRY) == OUT_DRY;
    pins_age();
    must(!on || (work != ID_STEP_COIL && work != ID_HOT_STEP) || !(pins_moved & RESTED_MS),
         "a step switched the coil on amid the noise of a contact");
}

// The few mA from 86 to 85, with K1 open.
static bool is_look(uint16_t word)
{
    return evening && word == (OUT_COIL | OUT_DIODE) && work_in_hand() == ID_SCAN;
}

static void build_kept(uint16_t now_on)
{
    uint16_t energy = now_on & (OUT_COIL | LOADS);
    must(!energy || !mixed, "energy though parts of two builds answer, or an evening build cannot measure its coil");
    if (!evening || is_look(now_on)) {
        return;
    }
    must(!(now_on & OUT_DIODE), "an evening build's few mA beside something else");
    must(!(now_on & OUT_BRANCHES & ~(4u << OUT_BRANCH_SHIFT)), "a branch that an evening build has not");
    must(!(energy & ~outputs) || bench_us() - lit_since >= LEAD_US, "K1 makes the current of coil or load");
}

void promises_outputs(uint16_t now_on)
{
    promises_kept();
    step_at_rest(now_on);
    lit_since = (outputs & OUT_LAMP) ? lit_since : bench_us();
    build_kept(now_on);
    if ((now_on & OUT_BRANCHES) && !(outputs & OUT_BRANCHES)) {
        load_since = bench_us();
        must(bus_obeys || bench_us() - bus_since <= BEGUN_US, "a load comes on though the bus was dead before it was asked for");
    }
    bool dark = !(outputs & OUT_LAMP), lights = now_on & (OUT_COIL | LOADS);
    must(!dark || !lights || dac == 0, "the coil or a load lights a coil supply that was not let on");
    outputs = now_on;
    mark_over();
    must(outputs == 0 || (guard_tripped() == TRIP_NONE && !stop_open), "on while tripped, or while the stop is open");
    must(outputs == 0 || !hal_bare(), "on while bare");
    must(!(outputs & (OUT_COIL | OUT_BRANCHES | OUT_THROWS)) || outputs & OUT_LAMP || is_look(outputs), "the coil or a load is on, and the lamp is dark");
    scan_alone();
}

void promises_dac(uint16_t code)
{
    dac = code;
}

void promises_scan(uint8_t a, uint8_t b)
{
    scanning = a != SCAN_RESTS || b != 0;
    scan_alone();
}

static void scan_follows(void)
{
    bool wrong = scanning && ports_obey && work_in_hand() != ID_SCAN;
    scan_wrong_since = !wrong ? NEVER : scan_wrong_since == NEVER ? bench_us() : scan_wrong_since;
    if (wrong) {
        more(&longest.scan_left, bench_us() - scan_wrong_since);
        must(bench_us() - scan_wrong_since <= SCAN_US, "a scan stands 200 ms after its end, and the bus obeys");
    }
}

static void dac_follows(void)
{
    bool wrong = dac != 0 && bus_obeys && dac_obeys && (silence() > LEASE_US || guard_tripped() != TRIP_NONE);
    dac_wrong_since = !wrong ? NEVER : dac_wrong_since == NEVER ? bench_us() : dac_wrong_since;
    if (wrong) {
        more(&longest.dac_without_request, bench_us() - dac_wrong_since);
        must(bench_us() - dac_wrong_since <= DAC_US, "the DAC stands 500 ms after the lease or a trip, and the bus obeys");
    }
}

void promises_kept(void)
{
    count_load();
    more(&longest.loaded_in_10_s, loaded_sum);
    must(loaded_sum <= DUTY_US, "loaded more than 10 % of 10 s");
    dac_follows();
    scan_follows();
    if (outputs == 0) {
        return;
    }
    must(guard_tripped() == TRIP_NONE || bench_us() % 1000 == 0, "on while tripped");
    must(!stop_open, "on while the stop is open");
    more(&longest.on_without_request, silence());
    must(silence() <= LEASE_US, "on longer than 500 ms after the last valid request");
    if (over_since != NEVER) {
        more(&longest.over_current, bench_us() - over_since);
        must(bench_us() - over_since <= OVER_CURRENT_US, "over-current for longer than 1.3 ms");
    }
    if (outputs & OUT_BRANCHES) {
        uint64_t for_us = bench_us() - load_since;
        bool watched = evening && work_in_hand() == ID_WATCH_LOAD; // the one load that it has
        bool large = (outputs & LARGE_BRANCHES) && (outputs & OUT_THROWS) && !watched;
        more(large ? &longest.pulse : &longest.watch, for_us);
        must(for_us <= pulse_ms * 1000ull, "loaded for longer than the pulse's own limit");
        must(for_us <= PULSE_US || !large, "loaded for longer than 500 ms");
        if (recent_sum > for_us) { // not by this one alone
            more(&longest.loaded_in_750_ms, recent_sum);
            must(recent_sum <= PULSE_US, "several pulses are on for more than 500 of 750 ms");
        }
    }
    must(!(outputs & OUT_COIL) || bench_us() <= on_until, "the coil is on for longer than its on-time");
    bool supplied = (outputs & OUT_LAMP) && !(outputs & LOADS);
    must(!supplied || bench_us() <= supply_until, "the coil supply is let on for longer than its on-time");
}
