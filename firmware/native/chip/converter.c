// The converter of the native chip, with the calls of host/pulldrop/emulator/converter.c: waves that are given
// beforehand, or volts that are asked for at the start of each conversion.
#include <math.h>
#include <string.h>

#include "chip.h"

enum { WAVE = 256, CHANNELS = 8, AHEAD = 16, CODES = 1024 };

struct wave { uint64_t start; uint32_t step, count; double volts[WAVE]; };

static struct {
    struct wave waves[CHANNELS];
    bool ask[CHANNELS];
    uint8_t asked;
    uint16_t code;
    struct { uint32_t given, next, last; uint8_t channel; double volts[AHEAD]; } ahead; // `last`: of those for this run
    double noise_v;
    uint64_t chance;
} c;

void converter_begin(void)
{
    memset(&c, 0, sizeof c);
}

void converter_runs(void)
{
    c.ahead.next = 0;
    c.ahead.last = c.ahead.given;
    c.ahead.given = 0;
}

static uint16_t code_of(double volts)
{
    int code = (int)(volts * CODES / 5.0);
    return (uint16_t)(code < 0 ? 0 : code >= CODES ? CODES - 1 : code);
}

static double wave_now(const struct wave *wave)
{
    uint64_t cycle = bench_us() * CYCLES_A_US;
    if (wave->count == 0) {
        return 0;
    }
    if (cycle <= wave->start || wave->step == 0) {
        return wave->volts[0];
    }
    uint64_t passed = cycle - wave->start, i = passed / wave->step;
    if (i + 1 >= wave->count) {
        return wave->volts[wave->count - 1];
    }
    double part = (double)(passed % wave->step) / wave->step;
    return wave->volts[i] + part * (wave->volts[i + 1] - wave->volts[i]);
}

// In (0, 1), as plant/noise.py has it.
static double uniform(void)
{
    uint64_t word = c.chance += 0x9E3779B97F4A7C15u;
    word = (word ^ (word >> 30)) * 0xBF58476D1CE4E5B9u;
    word = (word ^ (word >> 27)) * 0x94D049BB133111EBu;
    return ((double)(word ^ (word >> 31)) + 0.5) / 18446744073709551616.0;
}

static double noise(void)
{
    double far = sqrt(-2 * log(uniform()));
    return c.noise_v * far * cos(2 * acos(-1) * uniform());
}

uint16_t converted(uint8_t channel)
{
    if (!c.ask[channel]) {
        return code_of(wave_now(&c.waves[channel]) + noise());
    }
    if (c.ahead.channel == channel && c.ahead.next < c.ahead.last) {
        return code_of(c.ahead.volts[c.ahead.next++]);
    }
    c.asked = channel;
    chip_leave(CONVERSION);
    return c.code;
}

// --- the calls ---

void chip_ask(void *chip, uint8_t channel)
{
    (void)chip;
    c.ask[channel] = true;
}

uint32_t chip_asked(const void *chip)
{
    (void)chip;
    return c.asked;
}

void chip_volts(void *chip, uint8_t channel, double volts)
{
    (void)chip, (void)channel;
    c.code = code_of(volts);
}

void chip_ahead(void *chip, uint8_t channel, const double *volts, uint32_t count)
{
    (void)chip;
    c.ahead.channel = channel;
    c.ahead.given = count > AHEAD ? AHEAD : count;
    memcpy(c.ahead.volts, volts, c.ahead.given * sizeof *volts);
}

void chip_wave(void *chip, uint8_t channel, uint64_t start, uint32_t step, const double *volts, uint32_t count)
{
    struct wave *wave = &c.waves[channel];
    (void)chip;
    wave->start = start;
    wave->step = step;
    wave->count = count > WAVE ? WAVE : count;
    memcpy(wave->volts, volts, wave->count * sizeof *volts);
}

void chip_noise(void *chip, double volts, uint64_t seed)
{
    (void)chip;
    c.noise_v = volts;
    c.chance = seed;
}
