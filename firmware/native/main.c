// Runs the board through a script read from stdin, then says "END ended"; one command a line, times in microseconds:
//   eeprom HEX            first bytes of the EEPROM, before the start; without it all 0xFF
//   kept N                what the DAC's EEPROM holds before the start
//   at T rx HEX           bytes come from the host        at T stop 0|1     emergency stop closed or open
//   at T pins N           bits: 87 low, 87a low           at T current N    coil current, ADC counts
//   at T parts 0|1        I2C parts dead or alive         run T             start, and run until T
//   dispatch HEX          hand a bare frame to the dispatcher, in a block of exactly its size
//   crc HEX               say "crc VALUE"                 encode HEX        send these bytes as a frame
//   decode HEX            take these bytes from the line; say "body HEX" for each valid frame, then "bad COUNT"
// Rule: every buffer handed to the core is malloc'ed to its exact size, so that a byte read beyond it is caught.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../core/board.h"
#include "../core/dispatch.h"
#include "../core/frame.h"
#include "bench.h"

#define MOST_EVENTS 4096
#define LONGEST_LINE 200000

static struct event events[MOST_EVENTS];
static uint32_t event_count;

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
    static const char *const words[] = {"rx", "stop", "pins", "current", "parts", "low_end"};
    uint32_t i = 0;
    while (i < 6 && strcmp(word, words[i]) != 0) {
        i++;
    }
    if (i == 6) {
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
    dispatch(bytes, length);
    free(bytes);
}

static void crc_exact(const char *text)
{
    uint32_t length;
    uint16_t crc = CRC_INIT;
    uint8_t *bytes = unhex(text, &length, 0);
    for (uint32_t i = 0; i < length; i++) {
        crc = crc16(crc, bytes[i]);
    }
    printf("crc %u\n", crc);
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
    bench_start(events, event_count);
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
        {"kept ", keep},
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
