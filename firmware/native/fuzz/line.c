// What comes from the host is given to the promises as the board takes it, what goes to the host as it is sent.
#include "line.h"

#include <string.h>

#include "../bench.h"
#include "promises.h"
#include "requests.h"

#define ROOM 4096

struct line_count line_count;

static uint64_t came[ROOM]; // when each byte did
static uint8_t line[ROOM], asked[256][128];
static uint32_t line_in, line_out;

void line_begin(void)
{
    line_in = line_out = 0;
    memset(asked, 0, sizeof asked);
    heard_nothing_yet();
    answered_nothing_yet();
}

void line_deliver(const uint8_t *bytes, uint32_t length)
{
    line_count.frames++;
    for (uint32_t i = 0; i < length && line_in - line_out < ROOM; i++) {
        came[line_in % ROOM] = bench_us();
        line[line_in++ % ROOM] = bytes[i];
    }
}

uint32_t line_waiting(void)
{
    return line_in - line_out;
}

bool outside_waiting(void)
{
    return line_in != line_out;
}

uint8_t outside_byte(void)
{
    const uint64_t came_us = came[line_out % ROOM];
    uint8_t byte = line[line_out++ % ROOM];
    struct heard request;
    if (heard(byte, &request)) {
        promises_heard(&request, came_us);
        line_count.valid++;
        line_count.well_formed += request.well_formed;
        if (request.id < 128) {
            asked[request.sequence][request.id] += asked[request.sequence][request.id] < 255;
        }
    }
    return byte;
}

void outside_send(uint8_t byte)
{
    uint8_t sequence, id, result;
    if (answered(byte, &sequence, &id, &result)) {
        if (id < 128 || asked[sequence][id - 128] == 0) {
            outside_broken("an answer that nobody asked for");
            return;
        }
        asked[sequence][id - 128]--;
        promises_answered(sequence, id - 128, result);
        line_count.answers++;
    }
}
