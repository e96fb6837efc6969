// sense_ground, watch_lead, read_lead: the vehicle lead of a bare board (hardware/lead), four inputs and one for grounds.
// Rule: nothing is driven. Readings lie where a full build keeps its samples, which a bare one never takes.
#include "lead.h"

#include <stddef.h>

#include "../../hal.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "../safety/work.h"
#include "capture.h"
#include "sense.h"

#define ROOM 64 // readings; divides the numbers that there are
#define TOLD 6  // as the schema has it
#define GROUND_LINE 2 // of X5, as the next
#define REFERENCE_MS 25 // 100 nF at AREF fall from 5 V through the chip's 32 kohm (data sheet) within 5 ms

static const FLASH uint8_t lines[LEAD_INPUTS] = {9, 3, 4, 1}; // of X1 to X4 (hardware/pins.yaml, bare, `clip`)
static volatile uint16_t made; // since the watch began

void lead_read(const uint16_t *sums)
{
    uint16_t *place = capture_room() + made % ROOM * LEAD_INPUTS;
    for (uint8_t i = 0; i < LEAD_INPUTS; i++) {
        place[i] = sums[i];
    }
    made++;
}

void lead_keep(void)
{
    if (guard_lapsed() || !hal_bare()) {
        hal_lead_watch(NULL);
    }
}

enum result handle_sense_ground(const union request *request)
{
    uint16_t sum = 0;
    (void)request;
    if (!hal_bare()) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_SENSE_GROUND)) {
        return RESULT_BUSY;
    }
    hal_lead_watch(NULL);
    hal_own_reference(GROUND_LINE);
    enum result result = work_wait(REFERENCE_MS);
    if (result == RESULT_DONE) {
        hal_bare_sense(GROUND_LINE);
        result = analog_await(&sum);
    }
    hal_own_reference(0);
    work_finish();
    if (result == RESULT_DONE) {
        answer_sense_ground(sum);
    }
    return result;
}

enum result handle_watch_lead(const union request *request)
{
    (void)request;
    if (!hal_bare()) {
        return RESULT_BUILD;
    }
    if (work_in_hand() != 0) {
        return RESULT_BUSY;
    }
    hal_lead_watch(NULL);
    made = 0;
    hal_lead_watch(lines);
    return RESULT_DONE;
}

// The reading that is being made takes the place of the oldest, so one less than ROOM can be told.
enum result handle_read_lead(const union request *request)
{
    uint16_t first = request->read_lead.first, told[TOLD * LEAD_INPUTS];
    if (!hal_lead_watching()) {
        return RESULT_STOPPED;
    }
    uint8_t before = hal_lock();
    const uint16_t next = made;
    hal_unlock(before);
    uint16_t behind = next - first;
    if (behind >= ROOM) { // also one that is not made yet
        behind = next < ROOM ? next : ROOM - 1;
        first = next - behind;
    }
    const uint8_t count = behind < TOLD ? (uint8_t)behind : TOLD;
    for (uint8_t i = 0; i < count; i++) {
        const uint16_t *place = capture_room() + (uint16_t)(first + i) % ROOM * LEAD_INPUTS;
        for (uint8_t input = 0; input < LEAD_INPUTS; input++) {
            told[i * LEAD_INPUTS + input] = place[input];
        }
    }
    answer_read_lead(first, next, (uint8_t)(count * LEAD_INPUTS), told);
    return RESULT_DONE;
}
