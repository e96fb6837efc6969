// What the files of the shim share: one simulated ATmega328P, its converter, and the parts on its I2C bus. See shim.c
// for the rules.
#ifndef SHIM_H
#define SHIM_H

#include <stdint.h>

#include <simavr/avr_adc.h>
#include <simavr/avr_eeprom.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_timer.h>
#include <simavr/avr_twi.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

enum { SUPPLY_MV = 5000 };

enum { PORTS = 3, TIMERS = 3, LINE = 8192, EDGES = 1024, WAVE = 256, AHEAD = 16, CHANNELS = 8, PARTS = 6, WORDS = 16 };

enum happening { REACHED = 1, OUTPUTS = 2, BUS_WORD = 4, CONVERSION = 8, RESTARTED = 16, HALTED = 32, SAID = 64 };

struct ring { uint8_t byte[LINE]; uint32_t in, out; };

struct edge { uint64_t cycle; uint8_t port, bit, level; };

// Pin volts at even steps from `start` on; the last one holds. `ask`: stop at the start of each conversion instead.
struct wave { uint64_t start; uint32_t step, count; double volts[WAVE]; uint8_t ask; };

struct word { uint64_t cycle; uint8_t address, reg; uint16_t value; };

// A part on the bus: 16-bit registers behind a pointer byte. `pairs`: a first byte with bits 7..6 clear is itself the
// high half of a word for register 0 (the MCP4725's fast write). `back`: answers these bytes instead of registers.
struct part {
	uint8_t address, present, pairs, pointer, count, bytes[3], back[8], back_count;
	uint16_t regs[256], cleared_by_reading[256];
};

struct bus { struct part parts[PARTS], *part; struct word words[WORDS]; uint32_t in, out; uint8_t owned, address_sent,
	reading, held, status; avr_twi_t *twi; };

struct chip {
	avr_t *avr;
	avr_ioport_t *ports[PORTS];
	avr_uart_t *uart;
	avr_irq_t *adc;
	struct { avr_io_write_t call; void *param; } port_writes[3 * PORTS];
	struct timer_flags { avr_io_write_t call; avr_timer_t *timer; } timer_flags[TIMERS];
	void (*core_reset)(struct avr_t *);
	uint64_t deadline;
	uint32_t watched, outputs, happened, asked;
	uint32_t jammed_at;
	uint16_t jammed;
	uint8_t levels[PORTS], driven[PORTS], was_reset, line_full, listening;
	struct ring to_chip, from_chip;
	avr_io_read_t line_flags, line_data; // simavr's
	uint32_t given, read, lost;          // bytes given to the receiver, read by the program, lost for want of room
	uint32_t overrun_at, broken_at;      // of those given: read with the flag of an overrun, of a wrong stop bit
	struct edge edges[EDGES];
	uint32_t edge_next, edge_count;
	struct wave waves[CHANNELS];
	struct { uint32_t given, next, last; uint8_t channel; double volts[AHEAD]; } ahead; // `last`: of those for this run
	double noise_v;  // standard deviation of one conversion of a wave
	uint64_t chance; // its state
	struct bus bus;
};

void chip_stop(struct chip *chip, uint32_t happened);
void chip_timer(struct chip *chip, uint64_t cycle, avr_cycle_timer_t call);
void chip_input(struct chip *chip, uint8_t port, uint8_t bit, uint8_t level);
void line_attach(struct chip *chip); // once the UART is found
void line_reset(struct chip *chip);
void converter_attach(struct chip *chip);
void bus_attach(struct chip *chip);
void bus_reset(struct chip *chip);

#endif
