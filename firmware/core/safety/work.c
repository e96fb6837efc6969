// State of the work in hand, and its ways to wait.
#include "work.h"

#include "../../hal.h"
#include "duty.h"

static volatile uint8_t in_hand;
static volatile enum result state;
static void (*serve_line)(void);

void work_serves(void (*serve)(void))
{
    serve_line = serve;
}

bool work_begin(enum message_id id)
{
    if (in_hand != 0) {
        return false;
    }
    state = RESULT_DONE;
    in_hand = id;
    return true;
}

void work_finish(void)
{
    in_hand = 0;
}

uint8_t work_in_hand(void)
{
    return in_hand;
}

void work_end(enum result result)
{
    if (in_hand != 0 && state == RESULT_DONE) {
        state = result;
    }
}

enum result work_pass(void)
{
    hal_watchdog();
    serve_line();
    duty_keep();
    return state;
}

enum result work_wait(uint16_t ms)
{
    uint32_t start = hal_ms();
    while (work_pass() == RESULT_DONE && hal_ms() - start <= ms) { // <=: the first tick may come at once
        hal_sleep();
    }
    return state;
}
