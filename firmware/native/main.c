// Runs the board through a script read from stdin, then says "END ended"; one command a line, times in microseconds:
//   eeprom HEX            first bytes of the EEPROM, before the start; without it all 0xFF
//   kept N                what the DAC's EEPROM holds before the start
//   dac_at N              which of its addresses the DAC has, 0 to 3; 4: none is fitted
//   fits N                which parts are fitted, enum fitted of parts.h; 0, the full build's, when not said
//   cause N               why the board was reset, bits of enum reset; 1, power-on, when not said
//   at T rx HEX           bytes come from the host        at T stop 0|1     emergency stop closed or open
//   at T pins N           bits: 87 low, 87a low           at T current N    coil current, ADC counts
//   at T parts 0|1        I2C parts dead or alive         at T disturb N    bits of the DAC's code turned over on the bus
//   at T low_end N        the coil's low end, ADC counts  at T flip N       bits of one word of a converter, see parts.h
//   at T fits N           other parts answer
//   run T                 start, and run until T
//   dispatch HEX          hand a bare frame to the dispatcher, in a block of exactly its size
//   crc HEX               say "crc VALUE"                 encode HEX        send these bytes as a frame
//   decode HEX            take these bytes from the line; say "body HEX" for each valid frame, then "bad COUNT"
// What the board does is written to stdout, a line each: "TIME out WORD", "TIME tx HEX".
// Rule: every buffer handed to the core is malloc'ed to its exact size, so that a byte read beyond it is caught.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../core/board.h"
#include "../core/line/dispatch.h"
#include "../core/line/frame.h"
#include "../core/line/messages.h"
#include "../core/safety/work.h"
#include "parts.h"

#define MOST_EVENTS 4096
#define LONGEST_LINE 200000

enum happening {
    HAPPEN_RECEIVE,
    HAPPEN_STOP,
    HAPPEN_PINS,
    HAPPEN_CURRENT,
    HAPPEN_PARTS,
    HAPPEN_LOW_END,
    HAPPEN_DISTURB,
    HAPPEN_FLIP,
    HAPPEN_FITS,
};

// One line of the script. `value`: level, pin bits, ADC counts, or whether the parts answer; bytes for RECEIVE.
struct event {
    uint64_t us;
    enum happening what;
    uint32_t value;
    uint8_t *bytes;
    uint32_t length;
};

static struct event events[MOST_EVENTS];
static uint32_t event_count, event_next;
static uint16_t current, low_end;
static bool parts_answer = true;
static uint8_t reset_cause = RESET_POWER_ON;
static const uint8_t *waiting;
static uint32_t waiting_length;

// --- the outside of the board ---

static unsigned long long now(void)
{
    return bench_us();
}

void outside_broken(const char *rule)
{
    printf("%llu broken %s\n", now(), rule);
    fflush(stdout);
    abort();
}

uint64_t outside_due(void)
{
    return event_next < event_count ? events[event_next].us : NEVER;
}

static void happen(const struct event *event)
{
    switch (event->what) {
    case HAPPEN_RECEIVE:
        if (waiting_length != 0) {
            outside_broken("bytes came before the last were read");
        }
        waiting = event->bytes;
        waiting_length = event->length;
        break;
    case HAPPEN_STOP:
        bench_stop(event->value);
        break;
    case HAPPEN_PINS:
        bench_pins(event->value);
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
    case HAPPEN_DISTURB:
        parts_disturb((uint16_t)event->value);
        break;
    case HAPPEN_FLIP:
        parts_flip((uint16_t)event->value);
        break;
    case HAPPEN_FITS:
        parts_fit((enum fitted)event->value);
        break;
    }
}

void outside_happen(void)
{
    while (outside_due() <= bench_us()) {
        happen(&events[event_next++]);
    }
}

uint16_t outside_current(bool of_low_end)
{
    return of_low_end ? low_end : current;
}

uint16_t outside_analog(uint8_t channel)
{
    return 100 + channel;
}

uint16_t outside_bare_line(uint8_t line)
{
    return 100 * line;
}

bool outside_waiting(void)
{
    return waiting_length != 0;
}

uint8_t outside_byte(void)
{
    waiting_length--;
    return *waiting++;
}

void outside_send(uint8_t byte)
{
    static bool inside;
    if (!inside && byte == 0) {
        return; // the zero before a frame
    }
    if (!inside) {
        printf("%llu tx ", now());
    }
    printf("%02x", byte);
    inside = byte != 0;
    if (!inside) {
        printf("\n");
    }
}

void outside_outputs(uint16_t outputs)
{
    printf("%llu out %u\n", now(), outputs);
}

void outside_bare(bool bare)
{
    printf("%llu bare %u\n", now(), bare);
}

void outside_bare_drive(uint8_t source, uint8_t sink, bool weak)
{
    printf("%llu pins %u %u %u\n", now(), source, sink, weak);
}

void outside_eeprom(uint16_t address, uint8_t value)
{
    printf("%llu eeprom %u %u\n", now(), address, value);
}

void outside_dac(uint16_t code, bool kept)
{
    printf("%llu %s %u\n", now(), kept ? "dac_keep" : "dac", code);
}

void outside_ports(uint8_t a, uint8_t b)
{
    printf("%llu ports %u %u\n", now(), a, b);
}

bool outside_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length)
{
    return parts_answer && parts_transfer(part, out, out_length, in, in_length);
}

bool outside_bus_free(void)
{
    return true;
}

// --- the script ---

// Bytes in a block of their size and `room` more.
static uint8_t *unhex(const char *text, uint32_t *length, uint32_t room)
{
    *length = (uint32_t)(strspn(text, "0123456789abcdef") / 2);
    uint8_t *bytes = malloc(*length + room);
    for (uint32_t i = 0; i < *length; i++) {
        unsigned byte = 0;
        sscanf(text + (size_t)2 * i, "%2x", &byte);
        bytes[i] = byte;
    }
    return bytes;
}

static enum happening happening(const char *word)
{
    static const char *const words[] = {"rx", "stop", "pins", "current", "parts", "low_end", "disturb", "flip", "fits"};
    const uint32_t count = sizeof words / sizeof words[0];
    uint32_t i = 0;
    while (i < count && strcmp(word, words[i]) != 0) {
        i++;
    }
    if (i == count) {
        fprintf(stderr, "no such event: %s\n", word);
        exit(2);
    }
    return (enum happening)i;
}

static void add_event(const char *line)
{
    char word[16] = "";
    int at = 0;
    unsigned long long us = 0;
    if (event_count == MOST_EVENTS || sscanf(line, "at %llu %15s %n", &us, word, &at) != 2) {
        fprintf(stderr, "cannot read: %s", line);
        exit(2);
    }
    struct event *event = &events[event_count++];
    event->us = us;
    event->what = happening(word);
    if (event->what == HAPPEN_RECEIVE) {
        event->bytes = unhex(line + at, &event->length, 0);
    } else {
        event->value = (uint32_t)strtoul(line + at, NULL, 10);
    }
}

static void dispatch_exact(const char *text)
{
    uint32_t length;
    uint8_t *bytes = unhex(text, &length, 0);
    work_serves(serve);
    dispatch(bytes, length);
    free(bytes);
}

static void crc_exact(const char *text)
{
    uint32_t length;
    uint8_t *bytes = unhex(text, &length, 0);
    printf("crc %u\n", frame_crc(bytes, (uint8_t)length));
    free(bytes);
}

static void encode_exact(const char *text)
{
    uint32_t length;
    uint8_t *bytes = unhex(text, &length, FRAME_CRC);
    frame_send(bytes, length);
    free(bytes);
}

static void say_body(void)
{
    printf("body ");
    for (uint8_t i = 0; i < frame_length(); i++) {
        printf("%02x", frame_body()[i]);
    }
    printf("\n");
}

static void decode_exact(const char *text)
{
    uint32_t length;
    uint8_t *bytes = unhex(text, &length, 0);
    for (uint32_t i = 0; i < length; i++) {
        if (frame_take(bytes[i])) {
            say_body();
        }
    }
    printf("bad %u\n", frame_bad());
    free(bytes);
}

static void run(uint64_t until)
{
    bench_power_on(reset_cause);
    board_start();
    while (bench_us() < until) {
        board_pass();
    }
}

static void fill_eeprom(const char *text)
{
    uint32_t length;
    uint8_t *bytes = unhex(text, &length, 0);
    memcpy(bench_eeprom(), bytes, length);
    free(bytes);
}

static void keep(const char *text)
{
    parts_keep((uint16_t)strtoul(text, NULL, 10));
}

static void place_dac(const char *text)
{
    parts_dac_at((uint8_t)strtoul(text, NULL, 10));
}

static void fit(const char *text)
{
    parts_fit((enum fitted)strtoul(text, NULL, 10));
}

static void reset_by(const char *text)
{
    reset_cause = (uint8_t)strtoul(text, NULL, 10);
}

static void run_until(const char *text)
{
    run(strtoull(text, NULL, 10));
}

static void command(const char *line)
{
    static const struct {
        const char *word;
        void (*call)(const char *text);
    } commands[] = {
        {"eeprom ", fill_eeprom}, {"run ", run_until},     {"dispatch ", dispatch_exact},
        {"crc ", crc_exact},      {"encode ", encode_exact}, {"decode ", decode_exact},
        {"kept ", keep},         {"dac_at ", place_dac},     {"cause ", reset_by},
        {"fits ", fit},
    };
    if (strncmp(line, "at ", 3) == 0) {
        add_event(line);
    }
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        size_t length = strlen(commands[i].word);
        if (strncmp(line, commands[i].word, length) == 0) {
            commands[i].call(line + length);
        }
    }
}

int main(void)
{
    static char line[LONGEST_LINE];
    memset(bench_eeprom(), 0xFF, 1024);
    while (fgets(line, sizeof line, stdin)) {
        command(line);
    }
    for (uint32_t i = 0; i < event_count; i++) {
        free(events[i].bytes);
    }
    printf("%llu ended\n", (unsigned long long)bench_us());
    return 0;
}
