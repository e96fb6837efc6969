// Drives the core by chance, in process and in simulated time, under ASan and UBSan: fuzz SEED FRAMES.
// Frames valid, wrong and damaged; edges, storms of edges, currents, the emergency stop, a bus that fails, resets, silence.
// Says one line of figures, or "broken" with the promise, the frame's number and the simulated time, and ends by abort.
#include <inttypes.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/board.h"
#include "../../core/line/frame.h"
#include "../../core/safety/guard.h"
#include "../../core/identity.h"
#include "../parts.h"
#include "../ram.h"
#include "chance.h"
#include "line.h"
#include "promises.h"
#include "requests.h"
#include "talk.h"

#define CHECK_US 1000
#define SEEN_US 4000 // a board that looks bare asks all parts just before it drives its pins; one may take 3 ms
#define MARK_AT 48 // of a board that was full (core/identity.h)
#define MOST_WAITING 1024

uint64_t chance_state;

static const uint8_t mark[] = {0x46, 0xC9, 0xF2}; // of a board whose parts have answered

static jmp_buf power;
static uint64_t act_at, check_at, mood_until, mend_at = NEVER, storm_at = NEVER, bus_since;
static enum mood mood;
static uint8_t levels, cause = 1;
static enum fitted fitted;
static uint32_t storm_left;
static uint16_t current, low_end;
static bool parts_answer = true, ports_answer = true, dac_answers = true, bus_free = true, stop_open;
static struct {
    uint64_t most, resets, stops, bus_faults, edges, dark, fits[FITTED_KINDS], trips[8];
    uint64_t evening_coil, evening_looks, evening_loads;
} count;

void outside_broken(const char *rule)
{
    printf("broken %s; frame %" PRIu64 ", %" PRIu64 " us\n", rule, line_count.frames, bench_us());
    fflush(stdout);
    abort();
}

// --- the bench ---

static void fit(enum fitted now)
{
    fitted = now;
    parts_fit(now);
    promises_fitted(now);
    requests_suit_evening(now == FITTED_EVENING);
    promises_scan(SCAN_RESTS, 0);
    promises_dac(0);
}

static void restart(uint8_t why)
{
    count.resets++;
    cause = why;
    longjmp(power, 1);
}

static void set_stop(bool open)
{
    count.stops += open && !stop_open;
    stop_open = open;
    bench_stop(open);
    promises_stop(open && !hal_bare());
}

static void set_bus(bool obeys)
{
    count.bus_faults += !obeys && parts_answer;
    parts_answer = obeys;
    bus_free = obeys || once_in(2);
    mend_at = obeys ? NEVER : bench_us() + chance_of(once_in(4) ? 1200000 : 20000);
    bus_since = bench_us();
    ports_answer = dac_answers = true;
    promises_bus(obeys, obeys, obeys);
}

static void lose_a_part(void)
{
    *(once_in(2) ? &ports_answer : &dac_answers) = false;
    mend_at = bench_us() + chance_of(400000);
    promises_bus(parts_answer, parts_answer && ports_answer, parts_answer && dac_answers);
}

// The last request is heard late, behind others and a bus that is held.
static void fall_silent(void)
{
    set_bus(false);
    bus_free = false;
    for (uint8_t i = 0; i < 9; i++) {
        talk_frame(ID_SENSE_COIL);
    }
}

static void set_current(void)
{
    current = once_in(4) ? 1000 + (uint16_t)chance_of(24) : once_in(2) ? (uint16_t)chance_of(1000) : 0;
    promises_current(current);
}

static void storm(void)
{
    levels ^= once_in(8) ? 3 : 1 << chance_of(2);
    count.edges++;
    storm_at = --storm_left ? bench_us() + 1 + chance_of(6) : NEVER;
    promises_pins();
    bench_pins(levels);
}

static void begin_storm(void)
{
    storm_left = once_in(64) ? 3000 : 1 + chance_of(12);
    storm_at = bench_us();
}

static void trouble(void)
{
    switch (chance_of(mood == LOADING ? 40 : 200)) {
    case 0:
        restart(1u << chance_of(4));
        break;
    case 1:
    case 2:
        set_stop(!stop_open);
        break;
    case 3:
        once_in(2) ? lose_a_part() : set_bus(false);
        break;
    case 4:
        low_end = (uint16_t)chance_of(1024);
        break;
    case 5:
    case 6:
        set_current();
        break;
    default:
        begin_storm();
    }
}

static uint64_t next_gap(void)
{
    if (mood == WORKING || mood == LOADING) {
        return 1000 + chance_of(once_in(32) ? 600000 : 40000);
    }
    return mood == SILENT ? 50000 : once_in(64) ? chance_of(60000) : chance_of(3000);
}

static void act(void)
{
    if (bench_us() >= mood_until) {
        mood = (enum mood)chance_of(MOODS);
        if (mood == SILENT && once_in(2)) {
            fall_silent();
        }
        mood_until = bench_us() + chance_of(mood == SILENT ? 700000 : mood == LOADING ? 3000000 : 1000000);
    }
    act_at = bench_us() + next_gap();
    if (line_waiting() < MOST_WAITING) {
        talk(mood);
    }
    if (stop_open && once_in(4)) {
        set_stop(false);
    }
    if (current >= 1000 && once_in(4)) {
        current = 0;
        promises_current(0);
    }
    if (once_in(8)) {
        trouble();
    }
}

uint64_t outside_due(void)
{
    uint64_t due = act_at < check_at ? act_at : check_at;
    due = storm_at < due ? storm_at : due;
    return mend_at < due ? mend_at : due;
}

static void note_trip(void)
{
    static enum trip last;
    if (guard_tripped() != last) {
        last = guard_tripped();
        count.trips[last & 7]++;
    }
}

void outside_happen(void)
{
    uint64_t now = bench_us();
    if (now >= check_at) {
        check_at = now + CHECK_US;
        promises_kept();
        note_trip();
    }
    if (now >= mend_at) {
        set_bus(true);
    }
    if (now >= storm_at) {
        storm();
    }
    if (now >= act_at) {
        act();
    }
}

uint16_t outside_current(bool of_low_end)
{
    return of_low_end ? low_end : current;
}

uint16_t outside_analog(uint8_t channel)
{
    return (uint16_t)chance_of(1024) >> (channel & 1);
}

uint16_t outside_bare_line(uint8_t line_number)
{
    return (uint16_t)chance_of(1024) >> (line_number & 1);
}

// --- what the board does ---

void outside_outputs(uint16_t outputs)
{
    count.evening_coil += fitted == FITTED_EVENING && outputs & OUT_COIL;
    count.evening_looks += fitted == FITTED_EVENING && outputs & OUT_DIODE;
    count.evening_loads += fitted == FITTED_EVENING && outputs & OUT_THROWS;
    promises_outputs(outputs);
}

void outside_bare(bool bare)
{
    count.dark += bare;
    bool marked = memcmp(bench_eeprom() + MARK_AT, mark, sizeof mark) == 0;
    if (bare && (marked || !stop_open)) {
        outside_broken("bare though a part has answered this board, or its stop is closed");
    }
    promises_stop(stop_open && !bare);
}

void outside_bare_drive(uint8_t source, uint8_t sink, bool weak)
{
    bool driven = source || sink, seen = parts_answer && bench_us() - bus_since > SEEN_US;
    if (source > 9 || sink > 9 || (source && source == sink) || (driven && seen)) {
        outside_broken("bare pins driven while parts answer, or pins that are not there");
    }
    (void)weak;
}

// A brown-out in the middle of a write leaves anything in the cell.
void outside_eeprom(uint16_t address, uint8_t value)
{
    bool forgets = address == MARK_AT && value != mark[0];
    if (forgets && (!stop_open || (parts_answer && bench_us() - bus_since > SEEN_US))) {
        outside_broken("a full board made bare while a part answers, or its stop is closed");
    }
    if (once_in(200)) {
        bench_eeprom()[address] = value & (uint8_t)chance();
        restart(4);
    }
}

void outside_dac(uint16_t code, bool kept)
{
    (void)kept;
    promises_dac(code);
}

void outside_ports(uint8_t a, uint8_t b)
{
    promises_scan(a, b);
}

bool outside_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    bool answers = part >= PART_MCP4725 ? dac_answers : ports_answer || part != PART_MCP23017;
    return parts_answer && answers && parts_transfer(part, out, out_length, in, in_length);
}

bool outside_bus_free(void)
{
    return bus_free;
}

// --- ---

static void start(void)
{
    line_begin();
    ram_reset();
    bench_power_on(cause);
    promises_after_reset(cause != RESET_POWER_ON);
    board_start();
    this_start = identity_start();
    while (line_count.frames < count.most) {
        board_pass();
        promises_kept();
    }
}

static void say(void)
{
    printf("frames %" PRIu64 " valid %" PRIu64 " well_formed %" PRIu64 " damaged %" PRIu64 " slipped %" PRIu64
           " answers %" PRIu64 " resets %" PRIu64 " stops %" PRIu64 " bus_faults %" PRIu64 " edges %" PRIu64
           " bare_starts %" PRIu64 " evening_starts %" PRIu64 " mixed_starts %" PRIu64
           " evening_coil %" PRIu64 " evening_looks %" PRIu64 " evening_loads %" PRIu64 " simulated_us %" PRIu64,
           line_count.frames, line_count.valid, line_count.well_formed, talk_count.damaged, talk_count.slipped, line_count.answers, count.resets,
           count.stops, count.bus_faults, count.edges, count.dark, count.fits[FITTED_EVENING],
           count.fits[FITTED_BOTH] + count.fits[FITTED_NO_INA], count.evening_coil, count.evening_looks, count.evening_loads,
           bench_us());
    printf(" over_current_trips %" PRIu64 " stop_trips %" PRIu64 " lease_trips %" PRIu64 " on_time_trips %" PRIu64,
           count.trips[TRIP_OVER_CURRENT], count.trips[TRIP_EMERGENCY_STOP], count.trips[TRIP_LEASE],
           count.trips[TRIP_ON_TIME]);
    printf(" on_without_request_us %" PRIu64 " over_current_us %" PRIu64 " pulse_us %" PRIu64 " loaded_in_10_s_us %" PRIu64
           " loaded_in_750_ms_us %" PRIu64 " dac_without_request_us %" PRIu64 " scan_left_us %" PRIu64 "\n",
           longest.on_without_request, longest.over_current, longest.pulse, longest.loaded_in_10_s,
           longest.loaded_in_750_ms, longest.dac_without_request, longest.scan_left);
}

int main(int arguments, char **given)
{
    if (arguments != 3) {
        fprintf(stderr, "fuzz SEED FRAMES\n");
        return 2;
    }
    chance_state = strtoull(given[1], NULL, 10) * 2654435761u + 88172645463325252ull;
    count.most = strtoull(given[2], NULL, 10);
    memset(bench_eeprom(), 0xFF, 1024);
    if (setjmp(power)) {
        if (cause == RESET_POWER_ON) {
            ram_lost((uint8_t)chance());
            parts_power_on();
            promises_scan(SCAN_RESTS, 0);
        }
        if (once_in(3)) {
            set_bus(once_in(2)); // at the next start silent, or full again
        }
        if (once_in(4)) { // bare, but for a board that was full
            set_bus(false);
            bus_free = true;
            set_stop(true);
        }
        if (once_in(2)) { // another board, new
            memset(bench_eeprom(), 0xFF, 1024);
            fit(once_in(2) ? FITTED_FULL : (enum fitted)chance_of(FITTED_KINDS));
        }
        count.fits[fitted]++;
    }
    start();
    say();
    return 0;
}
