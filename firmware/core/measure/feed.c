// Closing K1 ahead of what it feeds.
#include "feed.h"

#include "../../hal.h"
#include "../safety/guard.h"
#include "../safety/work.h"

#define LEAD_MS 25 // a vehicle relay of 30 A operates within 10 ms and has bounced off 5 ms later; twice that
#define SPARE_MS 15

static bool of_load; // closed for a load alone

enum result feed_rests(void)
{
    enum result result = RESULT_DONE;
    while (result == RESULT_DONE && guard_supplied() && guard_lit_ms() <= LEAD_MS) {
        hal_sleep();
        result = work_pass();
    }
    return result == RESULT_DONE && !guard_supplied() ? RESULT_STOPPED : result;
}

enum result feed_begin(void)
{
    of_load = !guard_supplied();
    return guard_feed(LEAD_MS + SPARE_MS) ? feed_rests() : RESULT_TRIPPED;
}

void feed_end(void)
{
    if (of_load) {
        of_load = false;
        guard_supply(false);
    }
}
