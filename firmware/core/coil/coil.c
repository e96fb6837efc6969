// hold_coil, step_coil and hot_step.
#include "coil.h"

#include <stddef.h>

#include "../../hal.h"
#include "../build.h"
#include "../measure/capture.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "../measure/feed.h"
#include "../measure/parts.h"
#include "../measure/pulse.h"
#include "../safety/work.h"

#define SETTLE_MS 3 // DAC, op amp and follower come to rest
#define STEER_MS 1  // the load's MOSFETs switch within 0.1 ms

uint16_t coil_outputs(uint8_t on, uint8_t diode, uint8_t dry)
{
    return (on ? OUT_COIL : 0) | (diode ? OUT_DIODE : 0) | (uint16_t)dry << OUT_DRY_SHIFT;
}

enum result coil_supply(uint16_t code)
{
    if (dac_write(code)) {
        guard_supply(code != 0);
        return code != 0 && build_evening() ? feed_rests() : RESULT_DONE;
    }
    guard_all_off();
    return RESULT_BUS;
}

// Clamp and dry sources as wanted, the coil still as it is.
static uint16_t prepared(uint16_t outputs)
{
    return (outputs & ~OUT_COIL) | (hal_outputs_now() & OUT_COIL);
}

enum result coil_on(uint16_t code, uint16_t outputs, uint16_t on_ms, uint16_t limit)
{
    if (!guard_drive(prepared(outputs), on_ms, limit)) {
        return RESULT_TRIPPED;
    }
    enum result result = coil_supply(code);
    uint8_t before = hal_lock();
    if (result == RESULT_DONE && build_evening() && !guard_supplied()) {
        result = RESULT_STOPPED; // K1's time was over just now: the lamp would close it with the coil
    }
    if (result == RESULT_DONE && !guard_drive(outputs, on_ms, limit)) {
        result = RESULT_TRIPPED;
    }
    hal_unlock(before);
    return result;
}

static enum result hold_now(const struct hold_coil_request *hold)
{
    uint16_t outputs = coil_outputs(hold->on, hold->diode, hold->dry);
    if (hold->on) {
        return coil_on(hold->dac, outputs, hold->on_ms, hold->limit);
    }
    if (!guard_drive(prepared(outputs), hold->on_ms, hold->limit) || !guard_drive(outputs, hold->on_ms, hold->limit)) {
        return RESULT_TRIPPED;
    }
    return coil_supply(hold->dac);
}

enum result handle_hold_coil(const union request *request)
{
    const struct hold_coil_request *hold = &request->hold_coil;
    enum result result = build_drives(hold->dac, hold->on, hold->diode);
    if (result != RESULT_DONE) {
        return result;
    }
    if (!work_begin(ID_HOLD_COIL)) {
        return RESULT_BUSY;
    }
    result = hold_now(hold);
    work_finish();
    return result;
}

// A supply that was asked for and is held at 0 again, because its on-time is over, makes no step.
static enum result begin_step(const struct step_coil_request *step, bool low_side)
{
    hal_step_soon();
    hal_sample_low_side(low_side);
    uint8_t before = hal_lock();
    capture_begin();
    enum result result = RESULT_TRIPPED;
    if (step->on && step->dac && !guard_supplied()) {
        guard_all_off();
        result = RESULT_STOPPED;
    } else if (guard_step(coil_outputs(step->on, step->diode, step->dry), step->on_ms, step->limit)) {
        result = RESULT_DONE;
    }
    hal_unlock(before);
    return result;
}

// What a step reports of both throws, as bits.
struct throws {
    uint8_t before, restless;
};

// Empty logs, clamp, dry sources and DAC for the step, and the contacts as they are then. A step does not follow, and
// everything is off, where they come to no rest: what it would do to them could not be told. Nor where the on-time ended
// meanwhile, for what is not fed does not show whether it rests.
static enum result prepare(const struct step_coil_request *step, bool load, struct throws *throws)
{
    capture_arm(step->window_ms, step->divider);
    if (!guard_drive(prepared(coil_outputs(step->on, step->diode, step->dry)), step->on_ms, step->limit)) {
        return RESULT_TRIPPED;
    }
    enum result result = step->on ? coil_supply(step->dac) : RESULT_DONE;
    if (result == RESULT_DONE && load && build_evening()) {
        guard_supply(true);
        result = feed_rests();
    }
    if (result == RESULT_DONE) {
        result = work_wait(SETTLE_MS);
    }
    if (result == RESULT_DONE) {
        result = contacts_settle(BOTH_THROWS, &throws->before, &throws->restless);
    }
    uint8_t fed = contacts_fed(); // read once: from the tick to the step its time is known (latency.py)
    if (result == RESULT_DONE && fed != step->dry) {
        result = RESULT_STOPPED;
    }
    if (throws->restless || result == RESULT_STOPPED) {
        guard_all_off();
    }
    return result;
}

static enum result step_and_log(const struct step_coil_request *step, bool low_side)
{
    enum result result = begin_step(step, low_side);
    if (result == RESULT_DONE) {
        result = work_wait(step->window_ms);
    }
    capture_stop();
    hal_sample_low_side(false);
    return result;
}

// The end of a step that went well: a coil that was switched off needs its DAC no longer.
static enum result end(const struct step_coil_request *step, enum result result)
{
    if (result == RESULT_DONE && !step->on) {
        result = coil_supply(step->dac);
    }
    work_finish();
    return result;
}

enum result handle_step_coil(const union request *request)
{
    const struct step_coil_request *step = &request->step_coil;
    struct throws throws = {0};
    if (step->on && step->low_side) {
        return RESULT_ARGUMENT; // the guard needs the current
    }
    if (build_drives(step->dac, step->on, step->diode) != RESULT_DONE) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_STEP_COIL)) {
        return RESULT_BUSY;
    }
    enum result result = prepare(step, false, &throws);
    if (result == RESULT_DONE && !throws.restless) {
        result = step_and_log(step, step->low_side);
        if (result == RESULT_DONE && contacts_fed() != step->dry) {
            result = RESULT_STOPPED; // its time ended in the window, and what is not fed reads open
        }
    }
    result = end(step, result);
    if (result == RESULT_DONE) {
        answer_step_coil(throws.before, capture_edges(), capture_edges_lost(), throws.restless, capture_samples(),
                         capture_log());
    }
    return result;
}

// The step with the load on; the guard ends the load in its interrupt, whatever happens here. Nothing is asked of the bus
// between the last look at the contacts and the step: they could move meanwhile.
static enum result hot_step(const struct hot_step_request *hot, const struct step_coil_request *step,
                            struct pair *pair)
{
    enum result result =
        pulse_now(pulse_load(hot->throw, hot->branches), (uint16_t)hot->dry << OUT_DRY_SHIFT, hot->limit_ms);
    if (result != RESULT_DONE) {
        return result;
    }
    result = work_wait(STEER_MS);
    if (result == RESULT_DONE) {
        result = step_and_log(step, false);
    }
    if (result == RESULT_DONE) {
        result = pulse_pair(hot->throw, hot->gain, pair);
    }
    guard_pulse_end();
    return result;
}

_Static_assert(offsetof(struct hot_step_request, divider) == offsetof(struct step_coil_request, divider),
               "hot_step begins with the fields of step_coil, up to the divider");

enum result handle_hot_step(const union request *request)
{
    const struct step_coil_request *step = &request->step_coil; // its low_side is no field of this request: not read
    struct pair pair = {0};
    struct throws throws = {0};
    if (build_drives(step->dac, step->on, step->diode) != RESULT_DONE ||
        build_loads(request->hot_step.branches) != RESULT_DONE) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_HOT_STEP)) {
        return RESULT_BUSY;
    }
    uint16_t load = pulse_load(request->hot_step.throw, request->hot_step.branches);
    enum result result = pulse_ready(load) ? prepare(step, true, &throws) : RESULT_BUS;
    if (result == RESULT_DONE && !throws.restless) {
        result = hot_step(&request->hot_step, step, &pair);
    }
    result = end(step, result);
    if (result == RESULT_DONE) {
        answer_hot_step(throws.before, capture_edges(), capture_edges_lost(), throws.restless, capture_samples(),
                        capture_log(), pair.drop, pair.shunt);
    }
    return result;
}
