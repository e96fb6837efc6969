// load_pulse: one throw loaded, settled, sampled drop and shunt by turns, and off again.
// Rule: the guard ends the pulse in its interrupt; nothing here is needed to turn the load off.
#include "pulse.h"

#include "../../hal.h"
#include "../build.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "feed.h"
#include "parts.h"
#include "../safety/work.h"

#define MOST_SAMPLES 12 // the schema allows no more
#define THROW_NO 1

struct pairs {
    int16_t drop[MOST_SAMPLES], shunt[MOST_SAMPLES];
};

uint16_t pulse_load(uint8_t throw, uint8_t branches)
{
    return (uint16_t)throw << OUT_THROW_SHIFT | (uint16_t)branches << OUT_BRANCH_SHIFT;
}

// Whether its lamp would let on a coil supply that is held at 0, at whatever code the DAC keeps, or close K1 on the load.
static bool revives(uint16_t load)
{
    return load && !guard_supplied() && (build_evening() || !dac_rests());
}

bool pulse_ready(uint16_t load)
{
    return ads_answers() && !(revives(load) && !dac_write(0));
}

enum result pulse_now(uint16_t load, uint16_t dry, uint16_t limit_ms)
{
    uint8_t before = hal_lock();
    enum result result = revives(load) ? RESULT_STOPPED : guard_pulse(load, dry, limit_ms); // its time ended just now
    hal_unlock(before);
    return result;
}

enum result pulse_begin(uint16_t load, uint16_t dry, uint16_t limit_ms)
{
    if (!pulse_ready(load)) {
        return RESULT_BUS;
    }
    enum result result = load && build_evening() ? feed_begin() : RESULT_DONE;
    if (result == RESULT_DONE) {
        result = pulse_now(load, dry, limit_ms);
    }
    if (result != RESULT_DONE) {
        feed_end();
    }
    return result;
}

void pulse_end(void)
{
    guard_pulse_end();
    feed_end();
}

enum result pulse_pair(uint8_t throw, uint8_t gain, struct pair *pair)
{
    enum result result = ads_convert(PART_ADS1115, throw == THROW_NO ? ADS_DROP_NO : ADS_DROP_NC, gain, &pair->drop);
    return result == RESULT_DONE ? ads_convert(PART_ADS1115, ADS_SHUNT, SHUNT_GAIN, &pair->shunt) : result;
}

static enum result sample(const struct load_pulse_request *pulse, struct pairs *pairs)
{
    enum result result = work_wait(pulse->settle_ms);
    for (uint8_t i = 0; i < pulse->samples && result == RESULT_DONE; i++) {
        struct pair pair;
        result = pulse_pair(pulse->throw, pulse->gain, &pair);
        pairs->drop[i] = pair.drop;
        pairs->shunt[i] = pair.shunt;
    }
    return result;
}

enum result handle_load_pulse(const union request *request)
{
    const struct load_pulse_request *pulse = &request->load_pulse;
    uint16_t load = pulse->branches ? pulse_load(pulse->throw, pulse->branches) : 0; // none: the dry source alone
    uint16_t dry = load ? 0 : (uint16_t)pulse->throw << OUT_DRY_SHIFT;
    struct pairs pairs = {0};
    if (load && build_loads(pulse->branches) != RESULT_DONE) {
        return RESULT_BUILD;
    }
    if (!work_begin(ID_LOAD_PULSE)) {
        return RESULT_BUSY;
    }
    enum result result = pulse_begin(load, dry, pulse->limit_ms);
    if (result == RESULT_DONE) {
        result = sample(pulse, &pairs);
        pulse_end();
    }
    work_finish();
    if (result == RESULT_DONE) {
        answer_load_pulse(pulse->samples, pairs.drop, pulse->samples, pairs.shunt);
    }
    return result;
}
