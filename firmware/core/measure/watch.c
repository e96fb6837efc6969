// watch_load: a load that should not flow, or should be cut by the hardware's own pulse limit; the shunt is watched.
// Rule: throws and branches together only with the 1 A branch, the one load that may outlast 500 ms; on an evening build
// with its only load of 10 A, which bears 0.96 s in each 10 s.
#include "../../hal.h"
#include "../build.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "parts.h"
#include "pulse.h"
#include "../safety/work.h"

#define BRANCH_1A 1
#define BRANCH_10A 4
#define ALONE_MOST_MS 100
#define SETTLE_MS 20
#define EVERY_MS 5
#define CUT_SHARE 4 // less than this share of the first reading, twice in a row, is taken as cut
#define SPARE_MS 10 // of the limit, for the last conversion

static enum result read_shunt(int16_t *shunt)
{
    return ads_convert(PART_ADS1115, ADS_SHUNT, SHUNT_GAIN, shunt);
}

// Until the current is cut or `until_ms` have passed since `start`; cut_ms stays 0 while it flows.
static enum result watch(uint32_t start, uint16_t until_ms, int16_t first, int16_t *last, uint16_t *cut_ms)
{
    enum result result = RESULT_DONE;
    bool low = false;
    while (result == RESULT_DONE && *cut_ms == 0 && hal_ms() - start + EVERY_MS < until_ms) {
        result = work_wait(EVERY_MS);
        if (result == RESULT_DONE) {
            result = read_shunt(last);
        }
        if (low && *last < first / CUT_SHARE) {
            *cut_ms = (uint16_t)(hal_ms() - start);
        }
        low = *last < first / CUT_SHARE;
    }
    return result;
}

// Throws or branches alone carry nothing unless a transistor has failed, and then up to 20 A: so they are on briefly.
static bool alone(const struct watch_load_request *asked)
{
    return !asked->throws != !asked->branches;
}

static enum result allowed(const struct watch_load_request *asked)
{
    if (build_evening()) { // its throws alone are the load
        return asked->throws && asked->branches == BRANCH_10A ? RESULT_DONE : RESULT_BUILD;
    }
    bool whole = alone(asked) ? asked->watch_ms <= ALONE_MOST_MS : asked->throws && asked->branches == BRANCH_1A;
    return whole ? RESULT_DONE : RESULT_ARGUMENT;
}

enum result handle_watch_load(const union request *request)
{
    const struct watch_load_request *asked = &request->watch_load;
    const uint16_t watch_ms = asked->watch_ms; // kept: serving the line meanwhile is no reason to read it again
    const bool brief = alone(asked);
    int16_t first = 0, last = 0;
    uint16_t cut_ms = 0;
    const enum result may = allowed(asked);
    if (may != RESULT_DONE) {
        return may;
    }
    if (!work_begin(ID_WATCH_LOAD)) {
        return RESULT_BUSY;
    }
    enum result result = pulse_begin(pulse_load(asked->throws, asked->branches), 0, watch_ms + SPARE_MS);
    if (result == RESULT_DONE) {
        uint32_t start = hal_ms();
        result = work_wait(SETTLE_MS);
        if (result == RESULT_DONE) {
            result = read_shunt(&first);
        }
        last = first;
        if (result == RESULT_DONE && !brief) {
            result = watch(start, watch_ms, first, &last, &cut_ms);
        }
        pulse_end();
    }
    work_finish();
    if (result == RESULT_DONE) {
        answer_watch_load(first, last, cut_ms);
    }
    return result;
}
