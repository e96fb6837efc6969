// Counts down everything that may stay on, in the millisecond and sampling interrupts.
#include "guard.h"

#include "../../hal.h"
#include "../measure/capture.h"
#include "duty.h"
#include "work.h"

#define OVER_SAMPLES 20 // 1 ms at 20 kS/s
#define LOOK_MS 100
#define LOOK_LIMIT 110 // counts: 33 mA; the look's own are 23 mA at most
#define SPARE_MS 5      // a resonator 0.5 % slow (2.5 ms), the millisecond in which the byte came, a tick that is late

static volatile enum trip tripped;
static uint16_t lease_left, on_left, pulse_left; // ms; each at most this much longer, never more
static uint16_t dry_after_pulse;
static volatile bool supplied; // the coil supply is let on
static volatile uint8_t lit_ms; // since the lamp was lit
static uint16_t current_limit;
static uint8_t over; // samples at or above the limit, in a row

static void all_off(void)
{
    supplied = false;
    lit_ms = 0;
    hal_outputs(0);
}

// With the lamp as it has to be beside these outputs.
static uint16_t lit(uint16_t outputs)
{
    bool live = supplied || outputs & (OUT_COIL | OUT_BRANCHES | OUT_THROWS);
    if (!live) {
        lit_ms = 0;
    }
    return (outputs & ~OUT_LAMP) | (live ? OUT_LAMP : 0);
}

static void trip(enum trip reason)
{
    all_off();
    pulse_left = 0;
    if (tripped == TRIP_NONE) {
        tripped = reason;
        work_end(RESULT_TRIPPED);
    }
}

// Time is over for what is on: a trip, unless only the dry sources, the clamp and the coil supply are.
static void lapse(uint16_t outputs, enum trip reason)
{
    if (outputs & (OUT_COIL | OUT_BRANCHES | OUT_THROWS)) {
        trip(reason);
    } else if (pulse_left != 0 && reason == TRIP_ON_TIME) { // a dry pulse has its own time for its source
        supplied = false;
        lit_ms = 0;
        dry_after_pulse = 0;
        hal_outputs(outputs & OUT_DRY);
    } else {
        all_off();
    }
}

static void unload(void)
{
    pulse_left = 0;
    hal_outputs(lit((hal_outputs_now() & (OUT_COIL | OUT_DIODE)) | dry_after_pulse));
}

// Down by one; true at 0.
static bool count_down(uint16_t *left)
{
    if (*left != 0) {
        (*left)--;
    }
    return *left == 0;
}

// True when the pulse has just ended.
static bool count_pulse(void)
{
    if (pulse_left == 0 || !count_down(&pulse_left)) {
        return false;
    }
    unload();
    work_end(RESULT_STOPPED);
    return true;
}

// A load without the coil has its own time, pulse_left, and stops this one.
static void count_on_time(uint16_t outputs)
{
    if (lease_left == 0) {
        lapse(outputs, TRIP_LEASE);
    } else if (((outputs & OUT_COIL) || !(outputs & (OUT_BRANCHES | OUT_THROWS))) && count_down(&on_left)) {
        lapse(outputs, TRIP_ON_TIME);
    }
}

void ticked(void)
{
    uint16_t outputs = hal_outputs_now();
    duty_tick(outputs & (OUT_BRANCHES | OUT_THROWS));
    if ((outputs & OUT_LAMP) && lit_ms < UINT8_MAX) {
        lit_ms++;
    }
    count_down(&lease_left); // always, so that it is never longer than it was when something came on
    if (hal_stop_open()) {
        trip(TRIP_EMERGENCY_STOP);
    } else if (outputs != 0) {
        if (count_pulse()) {
            outputs = hal_outputs_now();
        }
        count_on_time(outputs);
    }
}

void stop_opened(void)
{
    trip(TRIP_EMERGENCY_STOP);
}

bool sampled(uint16_t counts)
{
    bool on = hal_coil_on();
    if (!on || counts < current_limit) {
        over = 0;
    } else if (++over >= OVER_SAMPLES) {
        over = 0;
        trip(TRIP_OVER_CURRENT);
    }
    return capture_sample(counts) || on;
}

enum trip guard_tripped(void)
{
    return tripped;
}

void guard_renew(uint16_t waited_ms)
{
    uint16_t most = LEASE_MS - SPARE_MS;
    uint16_t left = waited_ms < most ? most - waited_ms : 0;
    uint8_t before = hal_lock();
    if (left > lease_left) {
        lease_left = left;
    }
    hal_unlock(before);
}

bool guard_lapsed(void)
{
    uint8_t before = hal_lock();
    bool lapsed = lease_left == 0;
    hal_unlock(before);
    return lapsed;
}

bool guard_supplied(void)
{
    return supplied;
}

static bool drive(void (*apply)(uint16_t), uint16_t outputs, uint16_t on_ms, uint16_t limit)
{
    uint8_t before = hal_lock();
    if (hal_stop_open()) {
        trip(TRIP_EMERGENCY_STOP);
    }
    bool free = tripped == TRIP_NONE;
    if (free) {
        on_left = on_ms;
        current_limit = limit;
        outputs |= hal_outputs_now() & (OUT_BRANCHES | OUT_THROWS); // a load that runs has its own end
        apply(lit(outputs));
        if (outputs & OUT_COIL) {
            hal_sampling_start();
        }
    }
    hal_unlock(before);
    return free;
}

bool guard_drive(uint16_t outputs, uint16_t on_ms, uint16_t limit)
{
    return drive(hal_outputs, outputs, on_ms, limit);
}

bool guard_step(uint16_t outputs, uint16_t on_ms, uint16_t limit)
{
    return drive(hal_step, outputs, on_ms, limit);
}

enum result guard_pulse(uint16_t load, uint16_t dry, uint16_t limit_ms)
{
    enum result result = RESULT_DONE;
    uint8_t before = hal_lock();
    uint16_t outputs = hal_outputs_now();
    if (hal_stop_open()) {
        trip(TRIP_EMERGENCY_STOP);
    }
    if (tripped != TRIP_NONE) {
        result = RESULT_TRIPPED;
    } else if (load && !duty_begin(limit_ms)) {
        result = RESULT_DUTY;
    } else {
        dry_after_pulse = outputs & OUT_DRY;
        pulse_left = limit_ms;
        hal_outputs(lit((outputs & (OUT_COIL | OUT_DIODE)) | load | dry));
    }
    hal_unlock(before);
    return result;
}

void guard_pulse_end(void)
{
    uint8_t before = hal_lock();
    if (pulse_left != 0) { // else the tick, a trip or all_off has ended it already
        unload();
    }
    hal_unlock(before);
}

void guard_supply(bool on)
{
    uint8_t before = hal_lock();
    if (tripped == TRIP_NONE && !hal_stop_open()) {
        supplied = on;
        hal_outputs(lit(hal_outputs_now()));
    }
    hal_unlock(before);
}

bool guard_feed(uint16_t ms)
{
    uint8_t before = hal_lock();
    uint16_t outputs = hal_outputs_now();
    if (tripped == TRIP_NONE && !(outputs & OUT_LAMP) && on_left < ms) {
        on_left = ms;
    }
    guard_supply(true);
    bool free = tripped == TRIP_NONE;
    hal_unlock(before);
    return free;
}

uint8_t guard_lit_ms(void)
{
    return lit_ms;
}

bool guard_look(void)
{
    uint8_t before = hal_lock();
    if (hal_stop_open()) {
        trip(TRIP_EMERGENCY_STOP);
    }
    bool free = tripped == TRIP_NONE;
    if (free) {
        all_off();
        on_left = LOOK_MS;
        current_limit = LOOK_LIMIT;
        hal_outputs(OUT_COIL | OUT_DIODE);
        hal_sampling_start();
    }
    hal_unlock(before);
    return free;
}

void guard_all_off(void)
{
    uint8_t before = hal_lock();
    all_off();
    pulse_left = 0;
    hal_unlock(before);
}

bool guard_acknowledge(void)
{
    uint8_t before = hal_lock();
    bool closed = !hal_stop_open();
    if (closed) {
        tripped = TRIP_NONE;
    }
    hal_unlock(before);
    return closed;
}
