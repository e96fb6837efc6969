// hold_coil and step_coil.
#include "coil.h"

#include "../hal.h"
#include "capture.h"
#include "dispatch.h"
#include "guard.h"
#include "parts.h"
#include "work.h"

#define SETTLE_MS 3 // DAC, op amp and follower come to rest

uint16_t coil_outputs(uint8_t on, uint8_t diode, uint8_t dry)
{
    return (on ? OUT_COIL : 0) | (diode ? OUT_DIODE : 0) | (uint16_t)dry << OUT_DRY_SHIFT;
}

// A DAC that does not answer leaves the coil at a voltage nobody asked for: everything off.
static enum result set_dac(uint16_t code)
{
    if (dac_write(code)) {
        return RESULT_DONE;
    }
    guard_all_off();
    return RESULT_BUS;
}

// Clamp and dry sources as wanted, the coil still as it is.
static uint16_t prepared(uint16_t outputs)
{
    return (outputs & ~OUT_COIL) | (hal_outputs_now() & OUT_COIL);
}

enum result handle_hold_coil(const union request *request)
{
    const struct hold_coil_request *hold = &request->hold_coil;
    uint16_t outputs = coil_outputs(hold->on, hold->diode, hold->dry);
    if (hold->on) {
        enum result result = set_dac(hold->dac);
        if (result != RESULT_DONE) {
            return result;
        }
    }
    if (!guard_drive(prepared(outputs), hold->on_ms, hold->limit) || !guard_drive(outputs, hold->on_ms, hold->limit)) {
        return RESULT_TRIPPED;
    }
    return hold->on ? RESULT_DONE : set_dac(hold->dac);
}

static bool arm_and_step(const struct step_coil_request *step, uint16_t outputs)
{
    capture_arm(step->window_ms, step->divider);
    hal_step_soon();
    hal_sample_low_side(step->low_side);
    uint8_t before = hal_lock();
    capture_begin();
    bool stepped = guard_step(outputs, step->on_ms, step->limit);
    hal_unlock(before);
    return stepped;
}

// Everything up to the end of the window; `contacts` as they were just before the step.
static enum result step(const struct step_coil_request *step, uint8_t *contacts)
{
    uint16_t outputs = coil_outputs(step->on, step->diode, step->dry);
    enum result result = RESULT_DONE;
    if (!guard_drive(prepared(outputs), step->on_ms, step->limit)) {
        return RESULT_TRIPPED;
    }
    if (step->on) {
        result = set_dac(step->dac);
    }
    if (result == RESULT_DONE) {
        result = work_wait(SETTLE_MS);
    }
    if (result != RESULT_DONE) {
        return result;
    }
    *contacts = contacts_closed();
    if (!arm_and_step(step, outputs)) {
        return RESULT_TRIPPED;
    }
    return work_wait(step->window_ms);
}

enum result handle_step_coil(const union request *request)
{
    const struct step_coil_request *wanted = &request->step_coil;
    uint8_t contacts = 0;
    if (wanted->on && wanted->low_side) {
        return RESULT_ARGUMENT; // the guard needs the current
    }
    if (!work_begin(ID_STEP_COIL)) {
        return RESULT_BUSY;
    }
    enum result result = step(wanted, &contacts);
    capture_stop();
    hal_sample_low_side(false);
    if (result == RESULT_DONE && !wanted->on) {
        result = set_dac(wanted->dac);
    }
    work_finish();
    if (result == RESULT_DONE) {
        answer_step_coil(contacts, capture_edges(), capture_edges_lost(), capture_samples());
    }
    return result;
}
