// staircase: the DAC walks by `step`, a dwell each, until the contacts at the end of a dwell are as wanted.
// Rule: the coil stays at the step where the walk ended, wanted state or not, until its on-time is over; but everything is
// off where those contacts come to no rest.
#include "../../hal.h"
#include "../build.h"
#include "../measure/capture.h"
#include "coil.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "../safety/work.h"

#define DAC_MOST 4095
#define RESTS_MS 400 // waited for contacts in one walk, in all: less than the on-time has to spare

static uint16_t dac_at(const struct staircase_request *stairs, uint16_t index)
{
    return (uint16_t)(stairs->dac + (int32_t)index * stairs->step);
}

static bool fits(const struct staircase_request *stairs)
{
    int32_t last = stairs->dac + (int32_t)(stairs->count - 1) * stairs->step;
    return last >= 0 && last <= DAC_MOST;
}

static enum result dwell_at(const struct staircase_request *stairs, uint16_t index)
{
    uint16_t code = dac_at(stairs, index), outputs = coil_outputs(1, stairs->diode, stairs->dry);
    enum result result = index == 0 ? coil_on(code, outputs, stairs->on_ms, stairs->limit) : coil_supply(code);
    return result == RESULT_DONE ? work_wait(stairs->dwell_ms) : result;
}

static bool arrived(const struct staircase_request *stairs, uint8_t contacts)
{
    return (contacts & stairs->watch) == (stairs->wanted & stairs->watch);
}

static enum result walk(const struct staircase_request *stairs)
{
    uint32_t waited = 0;
    for (uint16_t index = 0;; index++) {
        uint8_t contacts = 0, restless = 0;
        enum result result = dwell_at(stairs, index);
        if (result == RESULT_DONE) {
            uint32_t start = hal_ms();
            result = contacts_settle(stairs->watch, &contacts, &restless);
            waited += hal_ms() - start;
            if (waited > RESTS_MS) {
                restless = stairs->watch;
            }
        }
        if (result != RESULT_DONE) {
            return result;
        }
        if (restless) {
            guard_all_off();
        }
        if (restless || arrived(stairs, contacts) || index + 1 == stairs->count) {
            answer_staircase(arrived(stairs, contacts), index, dac_at(stairs, index), contacts, restless);
            return RESULT_DONE;
        }
    }
}

enum result handle_staircase(const union request *request)
{
    if (!fits(&request->staircase)) {
        return RESULT_ARGUMENT;
    }
    if (build_evening()) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_STAIRCASE)) {
        return RESULT_BUSY;
    }
    enum result result = walk(&request->staircase);
    work_finish();
    return result;
}
