// The core as a chip: the calls of host/pulldrop/emulator/shim.h on this HAL, so that Machine runs it with the plant.
// The core has a stack of its own and gives way at the very microsecond at which the outside must act. It runs many times
// faster than the emulated processor, and its own instructions take no time.
// Rule: one chip in a process; times are in cycles of 16 MHz outside, in microseconds inside.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <ucontext.h>

#include "../../core/board.h"
#include "../../core/line/messages.h"
#include "../ram.h"
#include "chip.h"

enum { BYTE_US = 20, LINE = 8192, EDGES = 1024, STACK = 1 << 18 };
enum port { PORT_B, PORT_C, PORT_D };

struct edge { uint64_t cycle; uint8_t port, bit, level; };

static struct {
    ucontext_t host, board;
    uint8_t *stack;
    bool running;
    uint64_t deadline, reached;
    uint32_t happened, outputs;
    uint8_t cause, low, stop, wanted_low, wanted_stop;
    bool listening, said;
    struct edge edges[EDGES];
    uint32_t edge_next, edge_count;
    uint8_t to_board[LINE], to_host[LINE];
    uint64_t due[LINE];
    uint32_t to_in, to_out, from_in, from_out;
    uint32_t spoil; // the EEPROM write, counted down, that a brown-out spoils
} c;

// Back to the host, which goes on with chip_run.
void chip_leave(uint32_t happened)
{
    c.happened |= happened;
    swapcontext(&c.board, &c.host);
}

void outside_broken(const char *rule)
{
    if (strcmp(rule, "watchdog") == 0) {
        c.cause = RESET_WATCHDOG;
        c.running = false;
        chip_leave(RESTARTED);
    }
    fprintf(stderr, "the native board: %s\n", rule);
    chip_leave(HALTED);
}

// --- levels ---

static void put_level(uint8_t port, uint8_t bit, bool high)
{
    if (port == PORT_D && bit == 2) {
        c.wanted_stop = high;
    } else {
        uint8_t mask = port == PORT_B ? 1 : 2; // B0 is 87, D7 is 87a
        c.wanted_low = high ? c.wanted_low & (uint8_t)~mask : c.wanted_low | mask;
    }
}

// Only while the board's time passes, so that its interrupts come where they may.
static void take_levels(void)
{
    if (c.low != c.wanted_low) {
        c.low = c.wanted_low;
        bench_pins(c.low);
    }
    if (c.stop != c.wanted_stop) {
        c.stop = c.wanted_stop;
        bench_stop(c.stop);
    }
}

static bool edge_due(void)
{
    return c.edge_next < c.edge_count && c.edges[c.edge_next].cycle / CYCLES_A_US <= bench_us();
}

// --- what the HAL asks ---

static uint64_t sooner(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

uint64_t outside_due(void)
{
    uint64_t due = c.deadline;
    if (c.low != c.wanted_low || c.stop != c.wanted_stop || (c.listening && c.said)) {
        return bench_us();
    }
    if (c.edge_next < c.edge_count) {
        due = sooner(due, c.edges[c.edge_next].cycle / CYCLES_A_US);
    }
    return c.to_out != c.to_in ? sooner(due, c.due[c.to_out % LINE] > bench_us() ? c.due[c.to_out % LINE] : NEVER) : due;
}

void outside_happen(void)
{
    take_levels();
    while (edge_due()) {
        struct edge *edge = &c.edges[c.edge_next++];
        put_level(edge->port, edge->bit, edge->level);
        take_levels();
    }
    if (c.listening && c.said) {
        c.said = false;
        chip_leave(SAID);
    }
    while (bench_us() >= c.deadline) {
        chip_leave(REACHED);
    }
}

uint16_t outside_analog(uint8_t channel)
{
    static const uint8_t pins[] = {0, 1, 6, 7}; // hardware/pins.yaml
    return converted(pins[channel & 3]);
}

uint16_t outside_current(bool low_end)
{
    return converted(low_end ? 7 : 0);
}

uint16_t outside_bare_line(uint8_t line)
{
    (void)line;
    return 0;
}

bool outside_waiting(void)
{
    return c.to_out != c.to_in && c.due[c.to_out % LINE] <= bench_us();
}

uint8_t outside_byte(void)
{
    return c.to_board[c.to_out++ % LINE];
}

void outside_send(uint8_t byte)
{
    c.to_host[c.from_in++ % LINE] = byte;
    c.said = true;
}

void outside_outputs(uint16_t word)
{
    uint32_t w = word;
    uint32_t pins = (w & OUT_COIL) << 1 | (w >> 1 & 1) << 2 | (w >> OUT_THROW_SHIFT & 3) << 3 | (w & OUT_LAMP) >> 5;
    c.outputs = pins | (w >> OUT_DRY_SHIFT & 3) << 10 | (w >> OUT_BRANCH_SHIFT & 15) << 19;
    chip_leave(OUTPUTS);
}

void outside_bare(bool bare)
{
    (void)bare;
}

void outside_bare_drive(uint8_t source, uint8_t sink, bool weak)
{
    (void)source, (void)sink, (void)weak;
}

void outside_eeprom(uint16_t address, uint8_t value)
{
    if (c.spoil && --c.spoil == 0) {
        bench_eeprom()[address] = value ^ 0x5A;
        c.cause = RESET_BROWN_OUT;
        c.running = false;
        chip_leave(RESTARTED);
    }
}

// --- the calls ---

static void run_board(void)
{
    ram_reset();
    bench_power_on(c.cause);
    board_start();
    for (;;) {
        board_pass();
    }
}

static void begin(void)
{
    getcontext(&c.board);
    c.board.uc_stack.ss_sp = c.stack;
    c.board.uc_stack.ss_size = STACK;
    c.board.uc_link = NULL;
    c.outputs = 0;
    c.from_out = c.from_in;
    c.to_out = c.to_in;
    c.running = true;
    makecontext(&c.board, run_board, 0);
}

void *chip_create(const char *elf, const uint8_t *eeprom, uint32_t count, uint32_t watched)
{
    uint8_t *stack = c.stack ? c.stack : malloc(STACK);
    (void)elf, (void)watched;
    memset(&c, 0, sizeof c);
    bus_begin();
    converter_begin();
    ram_lost(0);
    c.stack = stack;
    c.cause = RESET_POWER_ON;
    bench_begin();
    memset(bench_eeprom(), 0xFF, 1024);
    if (count) {
        memcpy(bench_eeprom(), eeprom, count);
    }
    return &c;
}

void chip_destroy(void *chip)
{
    (void)chip;
}

uint64_t chip_cycle(const void *chip)
{
    uint64_t now = bench_us() * CYCLES_A_US;
    (void)chip;
    return now > c.reached ? now : c.reached;
}

uint32_t chip_run(void *chip, uint64_t cycle)
{
    c.deadline = cycle / CYCLES_A_US;
    c.happened = 0;
    converter_runs();
    if (chip_cycle(chip) >= cycle || c.deadline <= bench_us()) {
        c.happened = REACHED;
    } else {
        if (!c.running) {
            begin();
        }
        swapcontext(&c.host, &c.board);
    }
    if (c.happened & REACHED && cycle > c.reached) {
        c.reached = cycle;
    }
    return c.happened;
}

void chip_reset(void *chip)
{
    (void)chip;
    c.cause = RESET_EXTERNAL;
    c.running = false;
    c.outputs = 0;
}

// The `count`th byte that is written to the EEPROM from now on is spoiled, and the board restarts by a brown-out.
void chip_spoil(void *chip, uint32_t count)
{
    (void)chip;
    c.spoil = count;
}

uint32_t chip_outputs(const void *chip)
{
    (void)chip;
    return c.outputs;
}

void chip_input(void *chip, uint8_t port, uint8_t bit, uint8_t level)
{
    (void)chip;
    put_level(port, bit, level);
}

uint8_t chip_level(const void *chip, uint8_t port, uint8_t bit)
{
    (void)chip;
    if (port == PORT_D && bit == 2) {
        return c.wanted_stop;
    }
    return !(c.wanted_low & (port == PORT_B ? 1 : 2));
}

int chip_edges(void *chip, const struct edge *edges, uint32_t count)
{
    (void)chip;
    if (count > EDGES) {
        return 0;
    }
    memcpy(c.edges, edges, count * sizeof *edges);
    c.edge_next = 0;
    c.edge_count = count;
    return 1;
}

uint32_t chip_receive(void *chip, const uint8_t *bytes, uint32_t count)
{
    uint64_t free = c.to_out != c.to_in ? c.due[(c.to_in - 1) % LINE] : 0;
    (void)chip;
    free = free > bench_us() ? free : bench_us();
    uint32_t taken = 0;
    while (taken < count && c.to_in - c.to_out < LINE) {
        c.due[c.to_in % LINE] = free += BYTE_US;
        c.to_board[c.to_in++ % LINE] = bytes[taken++];
    }
    return taken;
}

// From now on, or no longer, end the run when the board has said something and time passes again.
void chip_listen(void *chip, uint8_t listening)
{
    (void)chip;
    c.listening = listening;
    c.said = false;
}

uint32_t chip_sent(void *chip, uint8_t *bytes, uint32_t room)
{
    uint32_t given = 0;
    (void)chip;
    while (given < room && c.from_out != c.from_in) {
        bytes[given++] = c.to_host[c.from_out++ % LINE];
    }
    return given;
}

// Of a data direction or a port latch: no pull-up of the chip's own is on.
uint8_t chip_memory(const void *chip, uint16_t address)
{
    (void)chip, (void)address;
    return 0;
}

void chip_eeprom(const void *chip, uint8_t *bytes, uint32_t count)
{
    (void)chip;
    memcpy(bytes, bench_eeprom(), count);
}
