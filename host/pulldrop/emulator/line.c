// The serial line of the emulated board: bytes to and from the program at the speed of the line.
//
// simavr keeps 64 bytes and knows no error; the part keeps two and the one coming in, loses the next, and says so.

#include "shim.h"

static uint32_t waiting(const struct ring *ring) { return ring->in - ring->out; }

enum { RECEIVER = 3, UCSR0A_AT = 0xC0, UCSR0B_AT, UDR0_AT = 0xC6, FE0 = 1 << 4, DOR0 = 1 << 3, RXEN0 = 1 << 4 };

static uint8_t flags_read(struct avr_t *avr, avr_io_addr_t address, void *param) {
	struct chip *chip = avr->custom.data;
	uint8_t value = chip->line_flags(avr, address, param) & (uint8_t)~(FE0 | DOR0);
	if (chip->read == chip->given)
		return value;
	return value | (chip->read == chip->broken_at ? FE0 : 0) | (chip->read == chip->overrun_at ? DOR0 : 0);
}

static uint8_t data_read(struct avr_t *avr, avr_io_addr_t address, void *param) {
	struct chip *chip = avr->custom.data;
	if (chip->read != chip->given)
		chip->read++;
	return chip->line_data(avr, address, param);
}

static void wrap_line_reads(struct chip *chip) {
	avr_io_addr_t flags = AVR_DATA_TO_IO(UCSR0A_AT), data = AVR_DATA_TO_IO(UDR0_AT);
	chip->line_flags = chip->avr->io[flags].r.c;
	chip->avr->io[flags].r.c = flags_read;
	chip->line_data = chip->avr->io[data].r.c;
	chip->avr->io[data].r.c = data_read;
	chip->overrun_at = chip->broken_at = UINT32_MAX;
}

static avr_cycle_count_t byte_due(avr_t *avr, avr_cycle_count_t when, void *param) {
	struct chip *chip = param;
	if (!waiting(&chip->to_chip))
		return 0;
	if (!(avr->data[UCSR0B_AT] & RXEN0)) {
		chip->to_chip.out++; // nobody listens yet, and nothing is lost that the program could miss
	} else if (chip->given - chip->read == RECEIVER) {
		chip->to_chip.out++;
		chip->lost++;
		chip->overrun_at = chip->given - 1;
	} else if (!chip->line_full) {
		chip->given++;
		avr_raise_irq(chip->uart->io.irq + UART_IRQ_INPUT, chip->to_chip.byte[chip->to_chip.out++ % LINE]);
	}
	return when + chip->uart->cycles_per_byte;
}

static void line_filled(struct avr_irq_t *irq, uint32_t value, void *param) {
	(void)irq;
	((struct chip *)param)->line_full = value != 0;
}

static avr_cycle_count_t said(avr_t *avr, avr_cycle_count_t when, void *param) {
	(void)avr, (void)when;
	chip_stop(param, SAID);
	return 0;
}

static void byte_sent(struct avr_irq_t *irq, uint32_t value, void *param) {
	struct chip *chip = param;
	(void)irq;
	if (waiting(&chip->from_chip) < LINE)
		chip->from_chip.byte[chip->from_chip.in++ % LINE] = (uint8_t)value;
	if (chip->listening)
		chip_timer(chip, chip->avr->cycle + 2 * chip->uart->cycles_per_byte, said);
}

// From now on, or no longer, end the run when the chip has said something and no byte follows.
void chip_listen(struct chip *chip, uint8_t listening) { chip->listening = listening; }

static void arm_line(struct chip *chip) {
	if (waiting(&chip->to_chip) && !avr_cycle_timer_status(chip->avr, byte_due, chip))
		chip_timer(chip, chip->avr->cycle + chip->uart->cycles_per_byte, byte_due);
}

// Bytes for the chip, fed at the speed of the line. Returns how many were taken.
uint32_t chip_receive(struct chip *chip, const uint8_t *bytes, uint32_t count) {
	uint32_t taken = 0;
	while (taken < count && waiting(&chip->to_chip) < LINE)
		chip->to_chip.byte[chip->to_chip.in++ % LINE] = bytes[taken++];
	arm_line(chip);
	return taken;
}

uint32_t chip_sent(struct chip *chip, uint8_t *bytes, uint32_t room) {
	uint32_t given = 0;
	while (given < room && waiting(&chip->from_chip))
		bytes[given++] = chip->from_chip.byte[chip->from_chip.out++ % LINE];
	return given;
}

// How many bytes were lost because the program did not read in time.
uint32_t chip_lost(struct chip *chip) { return chip->lost; }

// The next byte that comes, `after` others, has a wrong stop bit.
void chip_break_byte(struct chip *chip, uint32_t after) { chip->broken_at = chip->given + after; }

// The world outside stays: bytes on their way still come.
void line_reset(struct chip *chip) {
	chip->line_full = 0;
	chip->read = chip->given;
	arm_line(chip);
}

void line_attach(struct chip *chip) {
	chip->uart->flags = 0; // neither lines on the console nor sleeping while the program polls
	avr_irq_register_notify(chip->uart->io.irq + UART_IRQ_OUTPUT, byte_sent, chip);
	avr_irq_register_notify(chip->uart->io.irq + UART_IRQ_OUT_XOFF, line_filled, chip);
	wrap_line_reads(chip);
}
