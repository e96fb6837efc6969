// The emulated microcontroller: libsimavr's ATmega328P behind a few plain calls, made for ctypes.
//
// Rule 1: no callback into Python; a run stops at the exact instruction where the outside must act, and says why.
// Rule 2: what simavr 1.6 has wrong is mended in these files, and nowhere else; each mend says what it mends.
//
// Licence: this file links to libsimavr, which is GPL-3 or later. It is shipped as source and compiled on the user's
// own machine, for tests and for the emulated board; no linked binary is distributed.

#include "shim.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

enum { CLOCK_HZ = 16000000 };

static const char PORT_NAMES[PORTS] = { 'B', 'C', 'D' };

static void quiet(avr_t *avr, const int level, const char *format, va_list arguments) {
	(void)avr, (void)level, (void)format, (void)arguments;
}

static void no_sleep(avr_t *avr, avr_cycle_count_t cycles) { (void)avr, (void)cycles; } // the caller paces, not simavr

static avr_io_t *module(avr_t *avr, const char *kind, char port) {
	for (avr_io_t *io = avr->io_port; io; io = io->next)
		if (!strcmp(io->kind, kind) && (!port || ((avr_ioport_t *)io)->name == port))
			return io;
	return NULL;
}

// Runs end here: the burst of instructions that the core is in, and the loop around it.
void chip_stop(struct chip *chip, uint32_t happened) {
	chip->happened |= happened;
	chip->avr->run_cycle_count = 0;
}

void chip_timer(struct chip *chip, uint64_t cycle, avr_cycle_timer_t call) {
	uint64_t now = chip->avr->cycle;
	avr_cycle_timer_register(chip->avr, cycle > now ? cycle - now : 1, call, chip);
}

// ---- pins ----

static uint32_t outputs_now(struct chip *chip) {
	uint32_t found = 0;
	for (int i = 0; i < PORTS; i++)
		found |= (uint32_t)(chip->avr->data[chip->ports[i]->r_port] & chip->avr->data[chip->ports[i]->r_ddr]) << (8 * i);
	return found & chip->watched;
}

static void look_at_outputs(struct chip *chip) {
	uint32_t now = outputs_now(chip);
	if (now != chip->outputs) {
		chip->outputs = now;
		chip_stop(chip, OUTPUTS);
	}
}

static void port_written(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *param) {
	struct chip *chip = param;
	int i = address - chip->ports[0]->r_pin; // PINx, DDRx, PORTx of B, C, D lie in a row
	chip->port_writes[i].call(avr, address, value, chip->port_writes[i].param);
	look_at_outputs(chip);
}

static void wrap_port_writes(struct chip *chip) {
	for (int i = 0; i < 3 * PORTS; i++) {
		avr_io_addr_t a = AVR_DATA_TO_IO(chip->ports[0]->r_pin + i);
		chip->port_writes[i].call = chip->avr->io[a].w.c;
		chip->port_writes[i].param = chip->avr->io[a].w.param;
		chip->avr->io[a].w.c = port_written;
		chip->avr->io[a].w.param = chip;
	}
}

// ---- timers ----

static void raise_again(avr_t *avr, avr_int_vector_t *vector, uint8_t kept) {
	if (vector->raised.reg && kept >> vector->raised.bit & 1)
		avr_raise_interrupt(avr, vector);
}

// A program that clears one flag of a timer by writing it loses the others in simavr: an overflow that came during the
// interrupt of a capture was never counted.
static void flags_written(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *param) {
	struct timer_flags *flags = param;
	uint8_t kept = avr->data[address] & (uint8_t)~value;
	flags->call(avr, address, value, flags->timer);
	avr->data[address] |= kept;
	raise_again(avr, &flags->timer->overflow, kept);
	raise_again(avr, &flags->timer->icr, kept);
	for (int i = 0; i < AVR_TIMER_COMP_COUNT; i++)
		raise_again(avr, &flags->timer->comp[i].interrupt, kept);
}

static void wrap_timer_flags(struct chip *chip) {
	int i = 0;
	for (avr_io_t *io = chip->avr->io_port; io && i < TIMERS; io = io->next)
		if (!strcmp(io->kind, "timer")) {
			avr_timer_t *timer = (avr_timer_t *)io;
			avr_io_addr_t a = AVR_DATA_TO_IO(timer->overflow.raised.reg);
			chip->timer_flags[i] = (struct timer_flags){ chip->avr->io[a].w.c, timer };
			chip->avr->io[a].w.c = flags_written;
			chip->avr->io[a].w.param = &chip->timer_flags[i++];
		}
}

// ---- pins ----

// In simavr a flag of pin changes is not taken down by writing it, but put up.
static void pin_flags_written(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *param) {
	struct chip *chip = param;
	(void)address;
	for (int i = 0; i < PORTS; i++)
		if (value >> chip->ports[i]->pcint.raised.bit & 1)
			avr_clear_interrupt(avr, &chip->ports[i]->pcint);
}

static void take_pin_flags(struct chip *chip) {
	avr_io_addr_t a = AVR_DATA_TO_IO(chip->ports[0]->pcint.raised.reg);
	chip->avr->io[a].w.c = pin_flags_written;
	chip->avr->io[a].w.param = chip;
}

// The level is also given as an external pull, because simavr puts the pull's level on the pin at every port write.
void chip_input(struct chip *chip, uint8_t port, uint8_t bit, uint8_t level) {
	avr_ioport_t *p = chip->ports[port];
	uint8_t mask = (uint8_t)(1 << bit), value = level ? mask : 0;
	chip->driven[port] |= mask;
	chip->levels[port] = (uint8_t)((chip->levels[port] & ~mask) | value);
	p->external.pull_mask |= mask;
	p->external.pull_value = (uint8_t)((p->external.pull_value & ~mask) | value);
	avr_raise_irq(p->io.irq + bit, level ? 1 : 0);
}

uint8_t chip_level(struct chip *chip, uint8_t port, uint8_t bit) { return (chip->levels[port] >> bit) & 1; }

static avr_cycle_count_t edge_due(avr_t *avr, avr_cycle_count_t when, void *param) {
	struct chip *chip = param;
	while (chip->edge_next < chip->edge_count && chip->edges[chip->edge_next].cycle <= avr->cycle) {
		struct edge *e = &chip->edges[chip->edge_next++];
		chip_input(chip, e->port, e->bit, e->level);
	}
	(void)when;
	return chip->edge_next < chip->edge_count ? chip->edges[chip->edge_next].cycle : 0;
}

static void arm_edges(struct chip *chip) {
	if (chip->edge_next < chip->edge_count)
		chip_timer(chip, chip->edges[chip->edge_next].cycle, edge_due);
	else
		avr_cycle_timer_cancel(chip->avr, edge_due, chip);
}

// Replaces every edge that has not come yet; `edges` in order of time. False: too many.
int chip_edges(struct chip *chip, const struct edge *edges, uint32_t count) {
	if (count > EDGES)
		return 0;
	memcpy(chip->edges, edges, count * sizeof *edges);
	chip->edge_next = 0;
	chip->edge_count = count;
	arm_edges(chip);
	return 1;
}

uint32_t chip_outputs(struct chip *chip) { return outputs_now(chip); }

// ---- running ----

// Due again in the next cycle: simavr lets a chip that sleeps go on to what comes next, and edges until then came late.
static avr_cycle_count_t deadline_due(avr_t *avr, avr_cycle_count_t when, void *param) {
	(void)when;
	chip_stop(param, REACHED);
	return avr->cycle + 1;
}

static void core_was_reset(struct avr_t *avr) {
	struct chip *chip = avr->custom.data;
	chip->was_reset = 1;
	if (chip->core_reset)
		chip->core_reset(avr);
}

// At reset the external interrupts stand on "low level", and simavr then polls a low pin at every cycle, even after
// the program has chosen edges. The firmware uses edges only.
static void tame_external_interrupts(avr_t *avr) {
	for (uint8_t i = 0; i < 2; i++)
		avr_extint_set_strict_lvl_trig(avr, i, 0);
}

// simavr forgets all timers and clears the input registers at a reset; the world outside does not.
static void after_reset(struct chip *chip) {
	chip->was_reset = 0;
	tame_external_interrupts(chip->avr);
	chip->avr->run_cycle_limit = CLOCK_HZ;
	for (uint8_t p = 0; p < PORTS; p++)
		for (uint8_t b = 0; b < 8; b++)
			if (chip->driven[p] >> b & 1) {
				uint8_t level = (chip->levels[p] >> b) & 1;
				chip->ports[p]->io.irq[b].value = !level;
				chip_input(chip, p, b, level);
			}
	bus_reset(chip);
	arm_edges(chip);
	line_reset(chip);
	chip_timer(chip, chip->deadline, deadline_due);
	look_at_outputs(chip);
	chip_stop(chip, RESTARTED);
}

// Runs until `cycle` or until something happens that the outside must see; returns what, as bits of `happening`.
uint32_t chip_run(struct chip *chip, uint64_t cycle) {
	if (chip->avr->cycle >= cycle)
		return REACHED;
	chip->happened = 0;
	chip->deadline = cycle;
	chip->ahead.next = 0;
	chip->ahead.last = chip->ahead.given;
	chip->ahead.given = 0;
	chip_timer(chip, cycle, deadline_due);
	while (!chip->happened) {
		int state = avr_run(chip->avr);
		if (chip->was_reset)
			after_reset(chip);
		if (state == cpu_Done || state == cpu_Crashed || state == cpu_Stopped)
			chip_stop(chip, HALTED);
	}
	avr_cycle_timer_cancel(chip->avr, deadline_due, chip);
	return chip->happened;
}

uint64_t chip_cycle(struct chip *chip) { return chip->avr->cycle; }

// The reset button: simavr has none. MCUSR (0x54) then shows EXTRF.
void chip_reset(struct chip *chip) {
	avr_reset(chip->avr);
	after_reset(chip);
	chip->avr->data[0x54] |= 2;
}

// A program that hangs: the instruction at the program counter becomes a jump to itself, or what it was again.
void chip_jam(struct chip *chip, uint8_t jammed) {
	uint8_t *at = chip->avr->flash + (jammed ? chip->avr->pc : chip->jammed_at);
	uint16_t instruction = jammed ? 0xcfff : chip->jammed; // rjmp .-2
	chip->jammed = (uint16_t)(at[0] | at[1] << 8);
	chip->jammed_at = (uint32_t)(at - chip->avr->flash);
	at[0] = (uint8_t)instruction;
	at[1] = (uint8_t)(instruction >> 8);
}

uint8_t chip_memory(struct chip *chip, uint16_t address) { return chip->avr->data[address]; }

// ---- making one ----

static void load_eeprom(struct chip *chip, const uint8_t *bytes, uint32_t count) {
	avr_eeprom_desc_t all = { .ee = (uint8_t *)bytes, .offset = 0, .size = count };
	if (count)
		avr_ioctl(chip->avr, AVR_IOCTL_EEPROM_SET, &all);
}

void chip_eeprom(struct chip *chip, uint8_t *bytes, uint32_t count) {
	avr_eeprom_desc_t all = { .ee = bytes, .offset = 0, .size = count };
	avr_ioctl(chip->avr, AVR_IOCTL_EEPROM_GET, &all);
}

static void attach(struct chip *chip) {
	avr_t *avr = chip->avr;
	for (int i = 0; i < PORTS; i++)
		chip->ports[i] = (avr_ioport_t *)module(avr, "port", PORT_NAMES[i]);
	chip->uart = (avr_uart_t *)module(avr, "uart", 0);
	tame_external_interrupts(avr);
	wrap_port_writes(chip);
	wrap_timer_flags(chip);
	take_pin_flags(chip);
	line_attach(chip);
	converter_attach(chip);
	bus_attach(chip);
	chip->core_reset = avr->reset;
	avr->reset = core_was_reset;
	avr->custom.data = chip;
	avr->sleep = no_sleep;
	avr->run_cycle_limit = CLOCK_HZ;
}

// `watched`: output pins whose change ends a run, port B in bits 0..7, C in 8..15, D in 16..23. NULL: no such file.
struct chip *chip_create(const char *elf, const uint8_t *eeprom, uint32_t count, uint32_t watched) {
	elf_firmware_t firmware = { 0 };
	avr_global_logger_set(quiet);
	if (elf_read_firmware(elf, &firmware))
		return NULL;
	struct chip *chip = calloc(1, sizeof *chip);
	chip->avr = avr_make_mcu_by_name("atmega328p");
	avr_init(chip->avr);
	firmware.frequency = CLOCK_HZ;
	firmware.vcc = firmware.avcc = firmware.aref = SUPPLY_MV;
	avr_load_firmware(chip->avr, &firmware);
	chip->watched = watched;
	attach(chip);
	load_eeprom(chip, eeprom, count);
	return chip;
}

void chip_destroy(struct chip *chip) {
	chip->avr->custom.deinit = NULL;
	avr_terminate(chip->avr);
	free(chip);
}
