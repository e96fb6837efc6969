// The hardware surface on a PC, in simulated microseconds, for tests under ASan and UBSan; never shipped.
// What the board does is written to stdout, a line each: "TIME out WORD", "TIME tx HEX".
#include "../hal.h"

#include <stdio.h>
#include <stdlib.h>

#include "bench.h"

#define TICK_US 1000
#define SAMPLE_US 50
#define BUS_BYTE_US 23
#define ANALOG_US 20000
#define WATCHDOG_US 250000

static uint64_t now, next_tick = TICK_US, next_sample, step_at, analog_at, watchdog_at;
static struct event *events;
static uint32_t event_count, event_next;
static uint16_t outputs, current, low_end;
static uint8_t pins, locks;
static uint16_t analog_channel;
static bool stop_open, sampling, listening, of_low_end, parts_answer = true, bare;
static const uint8_t *waiting;
static uint32_t waiting_length;
static uint8_t eeprom[1024];

static void must(bool held, const char *rule)
{
    if (!held) {
        printf("%llu broken %s\n", (unsigned long long)now, rule);
        fflush(stdout);
        abort();
    }
}

void bench_start(struct event *script, uint32_t count)
{
    events = script;
    event_count = count;
}

uint64_t bench_us(void)
{
    return now;
}

uint8_t *bench_eeprom(void)
{
    return eeprom;
}

// Edges of both pins as the two capture interrupts would tell them.
static void set_pins(uint8_t low)
{
    for (uint8_t bit = 0; bit < 2; bit++) {
        if (listening && ((low ^ pins) >> bit & 1)) {
            edge_seen((uint32_t)((now - step_at) * 2), bit, low >> bit & 1);
        }
    }
    pins = low;
}

static void happen(const struct event *event)
{
    switch (event->what) {
    case HAPPEN_RECEIVE:
        must(waiting_length == 0, "bytes came before the last were read");
        waiting = event->bytes;
        waiting_length = event->length;
        break;
    case HAPPEN_STOP:
        if (event->value && !stop_open && !bare) {
            stop_open = true;
            stop_opened();
        }
        stop_open = event->value;
        break;
    case HAPPEN_PINS:
        set_pins(event->value);
        break;
    case HAPPEN_CURRENT:
        current = event->value;
        break;
    case HAPPEN_LOW_END:
        low_end = event->value;
        break;
    case HAPPEN_PARTS:
        parts_answer = event->value;
        break;
    }
}

static uint64_t next_time(void)
{
    uint64_t next = next_tick;
    if (sampling && next_sample < next) {
        next = next_sample;
    }
    if (event_next < event_count && events[event_next].us < next) {
        next = events[event_next].us;
    }
    return next > now ? next : now;
}

static void interrupts(void)
{
    while (event_next < event_count && events[event_next].us <= now) {
        happen(&events[event_next++]);
    }
    if (next_tick <= now) {
        next_tick += TICK_US;
        ticked();
    }
    if (sampling && next_sample <= now) {
        next_sample += SAMPLE_US;
        sampling = sampled(of_low_end && !hal_coil_on() ? low_end : current);
    }
}

static void pass(uint64_t us)
{
    must(locks == 0, "time passes while interrupts are off");
    uint64_t until = now + us;
    while (next_time() <= until) {
        now = next_time();
        interrupts();
    }
    now = until;
}

void hal_sleep(void)
{
    must(locks == 0, "sleeping with interrupts off");
    if (waiting_length == 0) {
        now = next_time();
        interrupts();
    }
    must(now - watchdog_at < WATCHDOG_US, "watchdog");
}

void hal_watchdog(void)
{
    must(now - watchdog_at < WATCHDOG_US, "watchdog");
    watchdog_at = now;
}

uint8_t hal_lock(void)
{
    return locks++;
}

void hal_unlock(uint8_t before)
{
    locks--;
    must(locks == before, "locks unlock in order");
}

uint32_t hal_ms(void)
{
    return (uint32_t)(now / 1000);
}

void hal_outputs(uint16_t wanted)
{
    if (wanted != outputs && !bare) {
        outputs = wanted;
        printf("%llu out %u\n", (unsigned long long)now, outputs);
    }
}

uint16_t hal_outputs_now(void)
{
    return outputs;
}

bool hal_coil_on(void)
{
    return outputs & OUT_COIL;
}

void hal_step_soon(void)
{
    must(locks == 0, "the converter comes to rest with interrupts on");
    sampling = false;
    pass(30);
}

void hal_step(uint16_t wanted)
{
    must(!sampling, "hal_step_soon comes before hal_step");
    must(locks > 0, "the step is made with interrupts off");
    listening = true;
    step_at = now;
    sampling = true;
    next_sample = now + SAMPLE_US;
    hal_outputs(wanted);
}

void hal_edges_stop(void)
{
    listening = false;
}

uint8_t hal_pins_low(void)
{
    return pins;
}

bool hal_stop_open(void)
{
    return stop_open && !bare;
}

void hal_sample_low_side(bool low_side)
{
    of_low_end = low_side;
}

void hal_sampling_start(void)
{
    if (!sampling) {
        sampling = true;
        next_sample = now + SAMPLE_US;
    }
}

static void begin_analog(uint16_t channel)
{
    analog_channel = channel;
    analog_at = now + ANALOG_US;
}

void hal_analog_begin(uint8_t channel)
{
    begin_analog(channel);
}

bool hal_analog_ready(uint16_t *sum)
{
    if (now < analog_at) {
        return false;
    }
    *sum = 16 * (100 + analog_channel);
    return true;
}

// A bare board: what each line is driven to, a line of the record for every change; a line senses 100 times itself.
void hal_bare_set(bool now_bare)
{
    must(outputs == 0, "a bare board has no outputs");
    bare = now_bare;
    printf("%llu bare %u\n", (unsigned long long)now, bare);
}

bool hal_bare(void)
{
    return bare;
}

void hal_bare_drive(uint8_t source, uint8_t sink, bool weak)
{
    must(bare, "the bare pins are a bare board's");
    printf("%llu pins %u %u %u\n", (unsigned long long)now, source, sink, weak);
}

void hal_bare_sense(uint8_t line)
{
    must(bare, "the bare pins are a bare board's");
    begin_analog(100 * line - 100);
}

bool hal_bus_free(void)
{
    return true;
}

bool hal_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    pass((uint64_t)BUS_BYTE_US * (1 + out_length + in_length));
    return parts_answer && parts_transfer(part, out, out_length, in, in_length);
}

bool hal_receive(uint8_t *byte)
{
    if (waiting_length == 0) {
        return false;
    }
    *byte = *waiting++;
    waiting_length--;
    return true;
}

void hal_send(uint8_t byte)
{
    static bool inside;
    if (!inside && byte == 0) {
        return; // the zero before a frame
    }
    if (!inside) {
        printf("%llu tx ", (unsigned long long)now);
    }
    printf("%02x", byte);
    inside = byte != 0;
    if (!inside) {
        printf("\n");
    }
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
    printf("%llu eeprom %u %u\n", (unsigned long long)now, address, value);
}

uint8_t hal_reset_cause(void)
{
    return 1;
}
