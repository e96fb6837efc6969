// load_pulse: one throw loaded, settled, sampled drop and shunt by turns, and off again.
// Rule: the guard ends the pulse in its interrupt; nothing here is needed to turn the load off.
#include "../hal.h"
#include "dispatch.h"
#include "guard.h"
#include "parts.h"
#include "work.h"

#define MOST_SAMPLES 12
#define SHUNT_GAIN 5 // 5 mohm: 256 mV is 51 A

struct pairs {
    int16_t drop[MOST_SAMPLES], shunt[MOST_SAMPLES];
};

static enum result sample(const struct load_pulse_request *pulse, struct pairs *pairs)
{
    enum ads_input drop = pulse->throw == 1 ? ADS_DROP_NO : ADS_DROP_NC;
    enum result result = work_wait(pulse->settle_ms);
    for (uint8_t i = 0; i < pulse->samples && result == RESULT_DONE; i++) {
        result = ads_convert(PART_ADS1115, drop, pulse->gain, &pairs->drop[i]);
        if (result == RESULT_DONE) {
            result = ads_convert(PART_ADS1115, ADS_SHUNT, SHUNT_GAIN, &pairs->shunt[i]);
        }
    }
    return result;
}

// Load bits of the pulse, none when only the dry source is wanted.
static uint16_t load_bits(const struct load_pulse_request *pulse)
{
    uint16_t side = (uint16_t)pulse->throw << OUT_THROW_SHIFT;
    return pulse->branches ? side | (uint16_t)pulse->branches << OUT_BRANCH_SHIFT : 0;
}

enum result handle_load_pulse(const union request *request)
{
    const struct load_pulse_request *pulse = &request->load_pulse;
    uint16_t load = load_bits(pulse);
    uint16_t dry = load ? 0 : (uint16_t)pulse->throw << OUT_DRY_SHIFT;
    struct pairs pairs = {0};
    if (!work_begin(ID_LOAD_PULSE)) {
        return RESULT_BUSY;
    }
    enum result result = guard_pulse(load, dry, pulse->limit_ms);
    if (result == RESULT_DONE) {
        result = sample(pulse, &pairs);
        guard_pulse_end();
    }
    work_finish();
    if (result == RESULT_DONE) {
        answer_load_pulse(pulse->samples, pairs.drop, pulse->samples, pairs.shunt);
    }
    return result;
}
