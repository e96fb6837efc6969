// A ring of 41 slots of 250 ms: always at least the last 10 s, so that any window of 10 s holds the rule.
#include "duty.h"

#define SLOT_MS 250
#define SLOTS 41
#define MOST_MS 1000 // 10 % of 10 s

static uint8_t loaded_ms[SLOTS];
static uint8_t slot, slot_ms;

static void count(void)
{
    if (loaded_ms[slot] < UINT8_MAX) {
        loaded_ms[slot]++;
    }
}

void duty_tick(bool loaded)
{
    if (loaded) {
        count();
    }
    if (++slot_ms == SLOT_MS) {
        slot_ms = 0;
        slot = slot + 1 == SLOTS ? 0 : slot + 1;
        loaded_ms[slot] = 0;
    }
}

bool duty_begin(uint16_t limit_ms)
{
    uint16_t used = 0;
    for (uint8_t i = 0; i < SLOTS; i++) {
        used += loaded_ms[i];
    }
    if (used + limit_ms >= MOST_MS) {
        return false;
    }
    count();
    return true;
}
