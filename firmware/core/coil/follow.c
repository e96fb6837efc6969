// follow_coil: the coil's volts are turned by hand; the last of them are kept until the contacts have moved.
// Rule: the coil stays as it is, for its on-time from now on; edges are logged as after a step that changes nothing. What
// is kept ends with the conversion after the first edge, because the volts before it are asked for.
#include "../../hal.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "../safety/work.h"
#include "../measure/capture.h"
#include "../measure/parts.h"

#define KEPT_PAIRS 8 // as the schema has it
#define AFTER_EDGE 2     // conversions: the one in which it came, and another
#define SAMPLE_EVERY 100 // of the coil's current: not read

struct turned {
    int16_t bus[KEPT_PAIRS], shunt[KEPT_PAIRS];
    uint16_t at_ms[KEPT_PAIRS];
    uint8_t count, after_edge;
};

static enum result begin(const struct follow_coil_request *follow)
{
    capture_arm(follow->window_ms, SAMPLE_EVERY);
    hal_step_soon();
    uint8_t before = hal_lock();
    capture_begin();
    enum result result = RESULT_STOPPED;
    if (hal_coil_on()) {
        uint16_t outputs = hal_outputs_now() & (OUT_COIL | OUT_DIODE | OUT_DRY);
        result = guard_step(outputs, follow->on_ms, follow->limit) ? RESULT_DONE : RESULT_TRIPPED;
    }
    hal_unlock(before);
    return result;
}

static enum result keep(struct turned *turned, uint32_t start)
{
    int16_t bus = 0, shunt = 0;
    enum result result = ina_convert(INA_QUICK, &bus, &shunt);
    if (turned->after_edge == AFTER_EDGE) {
        return result;
    }
    turned->after_edge += capture_edges() != 0;
    if (turned->count == KEPT_PAIRS) {
        for (uint8_t i = 1; i < KEPT_PAIRS; i++) {
            turned->bus[i - 1] = turned->bus[i];
            turned->shunt[i - 1] = turned->shunt[i];
            turned->at_ms[i - 1] = turned->at_ms[i];
        }
        turned->count--;
    }
    uint8_t at = turned->count;
    turned->bus[at] = bus;
    turned->shunt[at] = shunt;
    turned->at_ms[at] = (uint16_t)(hal_ms() - start);
    turned->count++;
    return result;
}

enum result handle_follow_coil(const union request *request)
{
    const struct follow_coil_request *follow = &request->follow_coil;
    struct turned turned = {.count = 0};
    uint8_t contacts = 0, restless = 0;
    if (!work_begin(ID_FOLLOW_COIL)) {
        return RESULT_BUSY;
    }
    enum result result = begin(follow);
    uint32_t start = hal_ms();
    bool over = false;
    while (result == RESULT_DONE && !over) {
        result = keep(&turned, start);
        contacts = contacts_closed();
        restless = contacts_restless() & follow->watch;
        bool arrived = ((contacts ^ follow->wanted) & follow->watch) == 0 && !restless;
        over = arrived || hal_ms() - start >= follow->window_ms;
    }
    capture_stop();
    work_finish();
    if (result == RESULT_DONE) {
        const uint16_t last_ms = turned.at_ms[turned.count - 1];
        answer_follow_coil(contacts, restless, capture_edges(), capture_edges_lost(), capture_log(), last_ms,
                           (uint16_t)(last_ms - turned.at_ms[0]), turned.count, turned.bus, turned.count, turned.shunt);
    }
    return result;
}
