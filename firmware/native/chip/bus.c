// The I2C bus of the native chip: parts made of registers, with the calls of host/pulldrop/emulator/bus.c.
// Rule: a word that is written to a part ends the run, so that the outside acts at that very moment; reads never do.
#include <string.h>

#include "../../nano/pins.h"
#include "chip.h"

enum { PARTS = 6, WORDS = 16 };

struct word { uint64_t cycle; uint8_t address, reg; uint16_t value; };
struct fitted {
    uint8_t address, present, pairs, pointer, count, bytes[3], back[8], back_count;
    uint16_t regs[256], cleared_by_reading[256];
};

static struct {
    struct fitted parts[PARTS];
    struct word words[WORDS];
    uint32_t in, out;
    bool held;
} bus;

void bus_begin(void)
{
    memset(&bus, 0, sizeof bus);
}

static struct fitted *find(enum part part)
{
    static const uint8_t addresses[] = {
        [PART_INA226] = INA226_ADDRESS,
        [PART_ADS1115] = ADS1115_ADDRESS,
        [PART_EVENING_ADS1115] = EVENING_ADS1115_ADDRESS,
        [PART_ADS1115_SCAN] = ADS1115_SCAN_ADDRESS,
        [PART_MCP23017] = MCP23017_ADDRESS,
        [PART_MCP4725] = MCP4725_ADDRESS,
        MCP4725_ADDRESS + 1,
        MCP4725_ADDRESS + 2,
        MCP4725_ADDRESS + 3,
    };
    for (int i = 0; i < PARTS; i++) {
        if (bus.parts[i].present && bus.parts[i].address == addresses[part]) {
            return &bus.parts[i];
        }
    }
    return NULL;
}

static void word_written(const struct fitted *part, uint8_t reg, uint8_t high, uint8_t low)
{
    if (bus.in - bus.out < WORDS) {
        struct word *word = &bus.words[bus.in++ % WORDS];
        word->cycle = bench_us() * CYCLES_A_US;
        word->address = part->address;
        word->reg = reg;
        word->value = (uint16_t)(high << 8 | low);
    }
    chip_leave(BUS_WORD);
}

static void part_takes(struct fitted *part, uint8_t byte)
{
    part->bytes[part->count++] = byte;
    bool pair = part->pairs && !(part->bytes[0] & 0xC0);
    if (!pair) {
        part->pointer = part->bytes[0];
    }
    if (part->count < (pair ? 2 : 3)) {
        return;
    }
    part->count = 0;
    word_written(part, pair ? 0 : part->pointer, part->bytes[pair ? 0 : 1], part->bytes[pair ? 1 : 2]);
}

static uint8_t part_gives(struct fitted *part)
{
    uint8_t i = part->count++;
    if (part->back_count) {
        return i < part->back_count ? part->back[i] : 0xFF;
    }
    if (!(i & 1)) {
        return (uint8_t)(part->regs[part->pointer] >> 8);
    }
    uint8_t low = (uint8_t)part->regs[part->pointer];
    part->regs[part->pointer] &= (uint16_t)~part->cleared_by_reading[part->pointer];
    return low;
}

bool outside_i2c(enum part which, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    struct fitted *part = bus.held ? NULL : find(which);
    if (part == NULL) {
        return false;
    }
    part->count = 0;
    for (uint8_t i = 0; i < out_length; i++) {
        part_takes(part, out[i]);
    }
    part->count = 0;
    for (uint8_t i = 0; i < in_length; i++) {
        in[i] = part_gives(part);
    }
    return true;
}

bool outside_bus_free(void)
{
    return !bus.held;
}

void chip_part(void *chip, uint8_t index, uint8_t address, uint8_t present, uint8_t pairs)
{
    (void)chip;
    bus.parts[index].address = address;
    bus.parts[index].present = present;
    bus.parts[index].pairs = pairs;
}

void chip_register(void *chip, uint8_t index, uint8_t reg, uint16_t value, uint16_t cleared_by_reading)
{
    (void)chip;
    bus.parts[index].regs[reg] = value;
    bus.parts[index].cleared_by_reading[reg] = cleared_by_reading;
}

void chip_answer(void *chip, uint8_t index, const uint8_t *bytes, uint8_t count)
{
    struct fitted *part = &bus.parts[index];
    (void)chip;
    part->back_count = count > sizeof part->back ? sizeof part->back : count;
    memcpy(part->back, bytes, part->back_count);
}

int chip_word(void *chip, struct word *word)
{
    (void)chip;
    if (bus.in == bus.out) {
        return 0;
    }
    *word = bus.words[bus.out++ % WORDS];
    return 1;
}

void chip_hold_bus(void *chip, uint8_t held)
{
    (void)chip;
    bus.held = held;
}
