// The I2C bus of the emulated board: the TWI registers of the ATmega328P as a master, and parts made of registers.
//
// It replaces simavr 1.6's own TWI, which reports SLA+W as 0x28 or 0x30, does not clear TWINT when a one is written,
// and takes no heed of the bit rate. Status codes: ATmega328P data sheet, tables 22-2 and 22-3.
// A word that is written to a part ends the run, so that the outside acts at that very byte; reads never do.

#include "shim.h"

#include <stddef.h>

enum { TWBR_AT = 0xb8, TWSR_AT = 0xb9, TWDR_AT = 0xbb, TWCR_AT = 0xbc };
enum { TWINT_BIT = 0x80, TWEA_BIT = 0x40, TWSTA_BIT = 0x20, TWSTO_BIT = 0x10, TWEN_BIT = 0x04, TWIE_BIT = 0x01 };
enum { STARTED = 0x08, RESTART = 0x10, WRITE_ACK = 0x18, WRITE_NACK = 0x20, DATA_ACK = 0x28, DATA_NACK = 0x30,
	READ_ACK = 0x40, READ_NACK = 0x48, GOT_ACK = 0x50, GOT_NACK = 0x58, NOTHING = 0xf8 };
enum { SDA = 4, SCL = 5, PORT_C = 1 };

static void set_status(struct chip *chip, uint8_t status) {
	chip->avr->data[TWSR_AT] = (uint8_t)((chip->avr->data[TWSR_AT] & 3) | status);
}

// ---- parts ----

static struct part *find(struct bus *bus, uint8_t address) {
	for (int i = 0; i < PARTS; i++)
		if (bus->parts[i].present && bus->parts[i].address == address)
			return &bus->parts[i];
	return NULL;
}

static void word_written(struct chip *chip, uint8_t reg, uint8_t high, uint8_t low) {
	struct bus *bus = &chip->bus;
	struct word word = { chip->avr->cycle, bus->part->address, reg, (uint16_t)(high << 8 | low) };
	if (bus->in - bus->out < WORDS)
		bus->words[bus->in++ % WORDS] = word;
	chip_stop(chip, BUS_WORD);
}

static void part_takes(struct chip *chip, uint8_t byte) {
	struct part *part = chip->bus.part;
	part->bytes[part->count++] = byte;
	int pair = part->pairs && !(part->bytes[0] & 0xc0);
	if (!pair)
		part->pointer = part->bytes[0];
	if (part->count < (pair ? 2 : 3))
		return;
	if (pair)
		word_written(chip, 0, part->bytes[0], part->bytes[1]);
	else
		word_written(chip, part->pointer, part->bytes[1], part->bytes[2]);
	part->count = 0;
}

static uint8_t part_gives(struct part *part) {
	uint8_t i = part->count++;
	if (part->back_count)
		return i < part->back_count ? part->back[i] : 0xff;
	if (!(i & 1))
		return (uint8_t)(part->regs[part->pointer] >> 8);
	uint8_t low = (uint8_t)part->regs[part->pointer];
	part->regs[part->pointer] &= (uint16_t)~part->cleared_by_reading[part->pointer];
	return low;
}

// ---- the master ----

static uint32_t bit_cycles(struct chip *chip) {
	return 16 + (2u * chip->avr->data[TWBR_AT] << (2 * (chip->avr->data[TWSR_AT] & 3)));
}

static void done(struct chip *chip, uint8_t status) {
	set_status(chip, status);
	avr_raise_interrupt(chip->avr, &chip->bus.twi->twi);
}

static uint8_t address_byte(struct bus *bus, uint8_t byte) {
	bus->part = find(bus, byte >> 1);
	bus->reading = byte & 1;
	bus->address_sent = 1;
	if (bus->part)
		bus->part->count = 0;
	if (bus->reading)
		return bus->part ? READ_ACK : READ_NACK;
	return bus->part ? WRITE_ACK : WRITE_NACK;
}

static uint8_t data_byte(struct chip *chip) {
	struct bus *bus = &chip->bus;
	if (bus->reading) {
		chip->avr->data[TWDR_AT] = bus->part ? part_gives(bus->part) : 0xff;
		return chip->avr->data[TWCR_AT] & TWEA_BIT ? GOT_ACK : GOT_NACK;
	}
	if (!bus->part)
		return DATA_NACK;
	part_takes(chip, chip->avr->data[TWDR_AT]);
	return DATA_ACK;
}

static avr_cycle_count_t transfer_due(avr_t *avr, avr_cycle_count_t when, void *param) {
	struct chip *chip = param;
	struct bus *bus = &chip->bus;
	(void)when;
	if (bus->status) { // a start condition
		done(chip, bus->status);
		bus->status = 0;
	} else if (!bus->owned) { // a stop condition: no interrupt
		avr->data[TWCR_AT] &= (uint8_t)~TWSTO_BIT;
	} else {
		done(chip, bus->address_sent ? data_byte(chip) : address_byte(bus, avr->data[TWDR_AT]));
	}
	return 0;
}

static void begin(struct chip *chip, uint32_t bits) {
	if (!chip->bus.held)
		avr_cycle_timer_register(chip->avr, bits * bit_cycles(chip), transfer_due, chip);
}

static void start(struct chip *chip) {
	chip->bus.status = chip->bus.owned ? RESTART : STARTED;
	chip->bus.owned = 1;
	chip->bus.address_sent = 0;
	begin(chip, chip->bus.status == RESTART ? 2 : 1);
}

static void stop(struct chip *chip) {
	chip->bus.owned = 0;
	chip->bus.status = 0;
	set_status(chip, NOTHING);
	begin(chip, 1);
}

void bus_reset(struct chip *chip) {
	struct bus *bus = &chip->bus;
	avr_cycle_timer_cancel(chip->avr, transfer_due, chip);
	bus->owned = bus->status = bus->address_sent = 0;
	bus->part = NULL;
	set_status(chip, NOTHING);
}

static void control_written(struct avr_t *avr, avr_io_addr_t address, uint8_t value, void *param) {
	struct chip *chip = param;
	avr_int_vector_t *vector = &chip->bus.twi->twi;
	uint8_t flag = avr->data[address] & TWINT_BIT;
	if (value & TWINT_BIT || !(value & TWEN_BIT)) {
		avr_clear_interrupt(avr, vector);
		flag = 0;
	}
	avr->data[address] = (uint8_t)((value & ~TWINT_BIT) | flag);
	if (!(value & TWEN_BIT))
		bus_reset(chip);
	else if (!(value & TWINT_BIT)) {
		if (flag && value & TWIE_BIT)
			avr_raise_interrupt(avr, vector);
	} else if (value & TWSTO_BIT)
		stop(chip);
	else if (value & TWSTA_BIT)
		start(chip);
	else if (chip->bus.owned)
		begin(chip, 9);
}

void bus_attach(struct chip *chip) {
	avr_t *avr = chip->avr;
	for (avr_io_t *io = avr->io_port; io; io = io->next)
		if (io->kind[0] == 't' && io->kind[1] == 'w')
			chip->bus.twi = (avr_twi_t *)io;
	avr->io[AVR_DATA_TO_IO(TWCR_AT)].w.c = control_written;
	avr->io[AVR_DATA_TO_IO(TWCR_AT)].w.param = chip;
	chip_input(chip, PORT_C, SDA, 1);
	chip_input(chip, PORT_C, SCL, 1);
	bus_reset(chip);
}

// ---- for the outside ----

void chip_part(struct chip *chip, uint8_t index, uint8_t address, uint8_t present, uint8_t pairs) {
	struct part *part = &chip->bus.parts[index];
	part->address = address;
	part->present = present;
	part->pairs = pairs;
}

void chip_register(struct chip *chip, uint8_t index, uint8_t reg, uint16_t value, uint16_t cleared_by_reading) {
	chip->bus.parts[index].regs[reg] = value;
	chip->bus.parts[index].cleared_by_reading[reg] = cleared_by_reading;
}

void chip_answer(struct chip *chip, uint8_t index, const uint8_t *bytes, uint8_t count) {
	struct part *part = &chip->bus.parts[index];
	part->back_count = count > sizeof part->back ? sizeof part->back : count;
	for (int i = 0; i < part->back_count; i++)
		part->back[i] = bytes[i];
}

// The next word that was written to a part; false when there is none.
int chip_word(struct chip *chip, struct word *word) {
	struct bus *bus = &chip->bus;
	if (bus->in == bus->out)
		return 0;
	*word = bus->words[bus->out++ % WORDS];
	return 1;
}

// A part that holds both lines low: no transfer ever ends while `held`.
void chip_hold_bus(struct chip *chip, uint8_t held) {
	chip->bus.held = held;
	if (held)
		avr_cycle_timer_cancel(chip->avr, transfer_due, chip);
	chip_input(chip, PORT_C, SDA, !held);
	chip_input(chip, PORT_C, SCL, !held);
}
