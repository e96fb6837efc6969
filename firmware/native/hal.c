// The hardware surface on a PC, in simulated microseconds; never shipped.
#include "bench.h"

#include <string.h>

#define TICK_US 1000
#define SAMPLE_US 50
#define BUS_BYTE_US 23
#define CONVERSIONS 16
#define CONVERSION_US 1250
#define HELD_US 3000 // until a transfer on a bus that is held is given up
#define LEAD_US 2400
#define LEAD_SUMMED 6
#define WATCHDOG_US 100000 // of a fast oscillator

static uint64_t now;
static uint8_t eeprom[1024];
static uint16_t chance = 0x1234;
static uint8_t pins, moved; // moved: those that have changed since they were asked for
static bool stop_open;

// What a reset clears.
static struct {
    uint64_t ms, next_tick, next_sample, step_at, watchdog_at, next_conversion, next_lead;
    const uint8_t *lead;
    uint16_t outputs, sum;
    uint8_t locks, cause, conversions, channel;
    bool sampling, listening, of_low_end, bare, bare_channel;
} chip;

static void must(bool held, const char *rule)
{
    if (!held) {
        outside_broken(rule);
    }
}

uint64_t bench_us(void)
{
    return now;
}

uint8_t *bench_eeprom(void)
{
    return eeprom;
}

void bench_begin(void)
{
    now = 0;
    pins = 0;
    stop_open = false;
}

void bench_power_on(uint8_t reset_cause)
{
    memset(&chip, 0, sizeof chip);
    chip.cause = reset_cause;
    chance++;
    chip.next_tick = now + TICK_US;
    chip.watchdog_at = now;
}

// Edges of both pins as the two capture interrupts would tell them; what these take leaves no flag.
void bench_pins(uint8_t low)
{
    for (uint8_t bit = 0; bit < 2; bit++) {
        if (chip.listening && ((low ^ pins) >> bit & 1)) {
            edge_seen((uint32_t)((now - chip.step_at) * 2), bit, low >> bit & 1);
        }
    }
    moved |= chip.listening ? 0 : low ^ pins;
    pins = low;
}

void bench_stop(bool open)
{
    if (open && !stop_open && !chip.bare) {
        stop_open = true;
        stop_opened();
    }
    stop_open = open;
}

static void sooner(uint64_t *next, uint64_t other)
{
    if (other < *next) {
        *next = other;
    }
}

static uint64_t next_time(void)
{
    uint64_t next = chip.next_tick;
    if (chip.sampling) {
        sooner(&next, chip.next_sample);
    }
    if (chip.conversions) {
        sooner(&next, chip.next_conversion);
    }
    if (chip.lead) {
        sooner(&next, chip.next_lead);
    }
    sooner(&next, outside_due());
    return next > now ? next : now;
}

static void convert(void)
{
    chip.sum += chip.bare_channel ? outside_bare_line(chip.channel) : outside_analog(chip.channel);
    chip.conversions--;
    chip.next_conversion += CONVERSION_US;
}

static void read_lead(void)
{
    uint16_t sums[LEAD_INPUTS];
    for (uint8_t i = 0; i < LEAD_INPUTS; i++) {
        sums[i] = LEAD_SUMMED * outside_bare_line(chip.lead[i]);
    }
    chip.next_lead += LEAD_US;
    lead_read(sums);
}

static void interrupts(void)
{
    if (outside_due() <= now) {
        outside_happen();
    }
    if (chip.next_tick <= now) {
        chip.next_tick += TICK_US;
        chip.ms++;
        ticked();
    }
    if (chip.conversions && chip.next_conversion <= now) {
        convert();
    }
    if (chip.lead && chip.next_lead <= now) {
        read_lead();
    }
    if (chip.sampling && chip.next_sample <= now) {
        chip.next_sample += SAMPLE_US;
        chip.sampling = sampled(outside_current(chip.of_low_end && !hal_coil_on()));
    }
}

static void pass(uint64_t us)
{
    must(chip.locks == 0, "time passes while interrupts are off");
    uint64_t until = now + us;
    for (uint64_t next = next_time(); next <= until; next = next_time()) {
        now = next;
        interrupts();
    }
    now = until;
}

void hal_sleep(void)
{
    must(chip.locks == 0, "sleeping with interrupts off");
    if (!outside_waiting()) {
        now = next_time();
        interrupts();
    }
    must(now - chip.watchdog_at < WATCHDOG_US, "watchdog");
}

void hal_watchdog(void)
{
    must(now - chip.watchdog_at < WATCHDOG_US, "watchdog");
    chip.watchdog_at = now;
}

uint8_t hal_lock(void)
{
    return chip.locks++;
}

void hal_unlock(uint8_t before)
{
    chip.locks--;
    must(chip.locks == before, "locks unlock in order");
}

uint32_t hal_ms(void)
{
    return (uint32_t)chip.ms;
}

void hal_outputs(uint16_t wanted)
{
    if (wanted != chip.outputs && !chip.bare) {
        chip.outputs = wanted;
        outside_outputs(wanted);
    }
}

uint16_t hal_outputs_now(void)
{
    return chip.outputs;
}

bool hal_coil_on(void)
{
    return chip.outputs & OUT_COIL;
}

void hal_step_soon(void)
{
    must(chip.locks == 0, "the converter comes to rest with interrupts on");
    chip.sampling = false;
    pass(30);
}

void hal_step(uint16_t wanted)
{
    must(!chip.sampling, "hal_step_soon comes before hal_step");
    must(chip.locks > 0, "the step is made with interrupts off");
    chip.listening = true;
    chip.step_at = now;
    chip.sampling = true;
    chip.next_sample = now + SAMPLE_US;
    hal_outputs(wanted);
}

void hal_edges_stop(void)
{
    chip.listening = false;
}

uint8_t hal_pins_low(void)
{
    return pins;
}

uint8_t hal_pins_moved(void)
{
    uint8_t now_moved = moved;
    moved = 0;
    return now_moved;
}

bool hal_stop_open(void)
{
    return stop_open && !chip.bare;
}

bool hal_stop_closed(void)
{
    return !stop_open;
}

void hal_sample_low_side(bool low_side)
{
    chip.of_low_end = low_side;
}

void hal_sampling_start(void)
{
    if (!chip.sampling) {
        chip.sampling = true;
        chip.next_sample = now + SAMPLE_US;
    }
}

void hal_lead_watch(const uint8_t *lines)
{
    must(lines == NULL || chip.bare, "the lead is a bare board's");
    chip.lead = lines;
    chip.next_lead = now + LEAD_US;
}

bool hal_lead_watching(void)
{
    return chip.lead != NULL;
}

void hal_own_reference(uint8_t line)
{
    must(chip.bare, "the lead is a bare board's");
    (void)line;
}

static void begin_analog(uint8_t channel, bool of_bare)
{
    chip.lead = NULL;
    chip.channel = channel;
    chip.bare_channel = of_bare;
    chip.sum = 0;
    chip.conversions = CONVERSIONS;
    chip.next_conversion = now + CONVERSION_US;
}

void hal_analog_begin(uint8_t channel)
{
    begin_analog(channel, false);
}

bool hal_analog_ready(uint16_t *sum)
{
    *sum = chip.sum;
    return chip.conversions == 0;
}

void hal_bare_set(bool bare)
{
    must(chip.outputs == 0, "a bare board has no outputs");
    chip.bare = bare;
    outside_bare(bare);
}

bool hal_bare(void)
{
    return chip.bare;
}

void hal_bare_drive(uint8_t source, uint8_t sink, bool weak)
{
    must(chip.bare, "the bare pins are a bare board's");
    outside_bare_drive(source, sink, weak);
}

void hal_bare_sense(uint8_t line)
{
    must(chip.bare, "the bare pins are a bare board's");
    begin_analog(line, true);
}

bool hal_bus_free(void)
{
    return outside_bus_free();
}

bool hal_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    pass(outside_bus_free() ? (uint64_t)BUS_BYTE_US * (1 + out_length + in_length) : HELD_US);
    return outside_i2c(part, out, out_length, in, in_length);
}

bool hal_receive(uint8_t *byte)
{
    if (!outside_waiting()) {
        return false;
    }
    *byte = outside_byte();
    return true;
}

void hal_send(uint8_t byte)
{
    outside_send(byte);
}

uint8_t hal_eeprom_read(uint16_t address)
{
    must(address < sizeof eeprom, "within the EEPROM");
    return eeprom[address];
}

void hal_eeprom_write(uint16_t address, uint8_t value)
{
    must(address < sizeof eeprom, "within the EEPROM");
    eeprom[address] = value;
    outside_eeprom(address, value);
}

uint8_t hal_reset_cause(void)
{
    return chip.cause;
}

bool hal_causes_kept(void)
{
    return false;
}

uint16_t hal_chance(void)
{
    return chance;
}

uint16_t hal_stack_spare(void)
{
    return 500;
}
