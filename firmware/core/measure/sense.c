// sense_coil and sense_analog: slow, exact readings while the coil stays as it is.
// Rule: a reading is fresh, begun after its request came.
#include "sense.h"

#include "../../hal.h"
#include "../line/handlers.h"
#include "parts.h"
#include "../safety/work.h"

#define TEMPERATURE 1 // the one channel that a bare board has
#define ANALOG_TIMEOUT_MS 40 // 16 conversions take 20 ms

enum result handle_sense_coil(const union request *request)
{
    int16_t bus = 0, shunt = 0;
    (void)request;
    if (hal_bare()) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_SENSE_COIL)) {
        return RESULT_BUSY;
    }
    enum result result = ina_convert(INA_AVERAGED, &bus, &shunt);
    work_finish();
    if (result == RESULT_DONE) {
        answer_sense_coil(bus, shunt);
    }
    return result;
}

enum result analog_await(uint16_t *sum)
{
    uint32_t start = hal_ms();
    while (!hal_analog_ready(sum)) {
        enum result state = work_pass();
        if (state != RESULT_DONE) {
            return state;
        }
        if (hal_ms() - start > ANALOG_TIMEOUT_MS) {
            return RESULT_BUS;
        }
        hal_sleep();
    }
    return RESULT_DONE;
}

enum result handle_sense_analog(const union request *request)
{
    uint16_t sum = 0;
    if (hal_bare() && request->sense_analog.channel != TEMPERATURE) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_SENSE_ANALOG)) {
        return RESULT_BUSY;
    }
    hal_analog_begin(request->sense_analog.channel);
    enum result result = analog_await(&sum);
    work_finish();
    if (result == RESULT_DONE) {
        answer_sense_analog(sum);
    }
    return result;
}
