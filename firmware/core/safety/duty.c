// A ring of 41 slots of 250 ms: always at least the last 10 s, so that any window of 10 s holds the rule.
#include "duty.h"

#include <string.h>

#include "../../hal.h"

#define SLOT_MS 250
#define SLOTS 41
#define MOST_MS 1000 // 10 % of 10 s
#define RECENT_SLOTS 4 // at least the last 750 ms
#define RECENT_MS 500
#define MARK_AT 52   // in the EEPROM
#define COLD 0x5A
#define WARM 0xA5 // and whatever else is found there

static KEPT uint8_t loaded_ms[SLOTS];
static KEPT uint8_t slot, slot_ms;
static KEPT uint16_t used, unused; // sum of loaded_ms, and its complement, by which a ring that survived is known

static void use(uint16_t ms)
{
    used = ms;
    unused = (uint16_t)~ms;
}

static bool survived(void)
{
    uint16_t sum = 0;
    for (uint8_t i = 0; i < SLOTS; i++) {
        sum += loaded_ms[i];
    }
    return slot < SLOTS && slot_ms < SLOT_MS && sum == used && (used ^ unused) == UINT16_MAX;
}

// As if the last second had all been load.
static void spend(void)
{
    for (uint8_t i = 0; i < MOST_MS / SLOT_MS; i++) {
        loaded_ms[SLOTS - 1 - i] = SLOT_MS;
    }
    use(MOST_MS);
}

static bool warm; // as the EEPROM has it

void duty_start(bool power_on)
{
    warm = hal_eeprom_read(MARK_AT) != COLD;
    if (survived()) {
        return;
    }
    memset(loaded_ms, 0, sizeof loaded_ms);
    slot = slot_ms = 0;
    use(0);
    if (!power_on || warm) {
        spend();
    }
}

void duty_keep(void)
{
    uint8_t before = hal_lock();
    bool now = used != 0;
    hal_unlock(before);
    if (now != warm) {
        warm = now;
        hal_eeprom_write(MARK_AT, warm ? WARM : COLD);
    }
}

static void count(void)
{
    if (loaded_ms[slot] < UINT8_MAX) {
        loaded_ms[slot]++;
        use(used + 1);
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
        use(used - loaded_ms[slot]);
        loaded_ms[slot] = 0;
    }
}

static uint16_t recent(void)
{
    uint16_t sum = 0;
    for (uint8_t back = 0; back < RECENT_SLOTS; back++) {
        sum += loaded_ms[slot >= back ? slot - back : slot + SLOTS - back];
    }
    return sum;
}

bool duty_begin(uint16_t limit_ms)
{
    uint16_t before = recent();
    if (used + limit_ms >= MOST_MS || (before != 0 && before + limit_ms > RECENT_MS)) {
        return false;
    }
    count();
    return true;
}
