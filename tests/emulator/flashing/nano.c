// A Nano on the end of a USB cable: libsimavr's chip with a boot loader, its serial line behind a pseudo-terminal.
//
// As on the real one, whoever opens the port resets the chip (through DTR; here also whoever changes the speed, for a
// port that is closed and opened at once looks the same as before), and bytes at another speed than the chip's arrive
// damaged. It runs in real time, or slower where the computer is.
//
//   nano MCU START LOADER FLASH EEPROM    binary files, or "-"; the loader begins at START, where a reset goes
//
// Standard output: where the port is, then one line for each line of standard input; its end ends the program.
//   cut N         the cable comes out, power and all, when N more bytes have come from the host
//   plug          it goes in again; says where the port is
//   bend N        the byte that comes after N others has a flipped bit
//   wear ADDRESS  this cell of the flash no longer keeps bit 0
//   dump FILE     the flash, then the EEPROM
//   driven        how many pins are outputs
//   hang          the program stays where it is until the next reset
//
// Licence: as of shim.c of the emulator: linked to libsimavr (GPL-3 or later) on the user's machine, for tests only.

#define _GNU_SOURCE
#include <fcntl.h>
#include <poll.h>
#include <simavr/avr_eeprom.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/avr_watchdog.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_core.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { CLOCK_HZ = 16000000, SLICE = CLOCK_HZ / 1000, LINE = 1 << 16, EEPROM = 1024, RECEIVER = 3, NEVER = -1 };
enum { MCUSR = 0x54, UCSR0A = 0xC0, UCSR0B = 0xC1, UBRR0L = 0xC4, UBRR0H = 0xC5, UDR0 = 0xC6 };
enum { WDTCSR = 0x60, PORF = 1, EXTRF = 2, U2X0 = 2, RXEN0 = 16 };

static avr_t *avr;
static avr_uart_t *uart;
static int line = -1, is_open, was_reset;
static speed_t speed;
static uint8_t to_chip[LINE], from_chip[LINE];
static uint32_t in, out, said;
static uint32_t waiting; // bytes in the receiver that the program has not read: two, and the one coming in
static long left = NEVER, bent = NEVER, worn = NEVER, hung = NEVER;
static uint8_t hung_at[2];
static avr_io_read_t read_data;
static avr_io_write_t write_watchdog;
static void *read_param, *write_param;
static void (*core_reset)(avr_t *);

static void quiet(avr_t *chip, const int level, const char *format, va_list arguments) {
	(void)chip, (void)level, (void)format, (void)arguments;
}

static void no_sleep(avr_t *chip, avr_cycle_count_t cycles) { (void)chip, (void)cycles; }

// ---- the line ----

static long bits_a_second(void) {
	long divider = (avr->data[UBRR0L] | avr->data[UBRR0H] << 8) + 1;
	return CLOCK_HZ / ((avr->data[UCSR0A] & U2X0 ? 8 : 16) * divider);
}

static long client_speed(void) {
	switch (speed) {
	case B57600: return 57600;
	case B115200: return 115200;
	case B500000: return 500000;
	default: return 9600;
	}
}

// Within 4 %, which is what a receiver bears.
static uint8_t as_heard(uint8_t byte) {
	long off = bits_a_second() - client_speed();
	return labs(off) * 25 < client_speed() ? byte : byte ^ 0x5A;
}

static uint8_t data_read(avr_t *chip, avr_io_addr_t address, void *param) {
	(void)param;
	if (waiting)
		waiting--;
	return read_data(chip, address, read_param);
}

static avr_cycle_count_t byte_due(avr_t *chip, avr_cycle_count_t when, void *param) {
	(void)param;
	if (in == out)
		return 0;
	uint8_t byte = to_chip[out++ % LINE];
	if (bent != NEVER && bent-- == 0)
		byte ^= 1;
	if (left > 0)
		left--;
	if (chip->data[UCSR0B] & RXEN0 && waiting < RECEIVER) {
		waiting++;
		avr_raise_irq(uart->io.irq + UART_IRQ_INPUT, as_heard(byte));
	}
	return when + (avr_cycle_count_t)CLOCK_HZ * 10 / bits_a_second();
}

static void byte_sent(struct avr_irq_t *irq, uint32_t value, void *param) {
	(void)irq, (void)param;
	if (said < LINE)
		from_chip[said++] = as_heard((uint8_t)value);
}

static void plug_in(void) {
	char path[64];
	line = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (line < 0 || grantpt(line) || unlockpt(line) || ptsname_r(line, path, sizeof path))
		exit(3);
	close(open(path, O_RDWR | O_NOCTTY)); // from the first closing on, its poll says whether a client has it open
	is_open = 0, in = out = said = 0, left = NEVER;
	printf("%s\n", path);
}

static void take_from_line(void) {
	struct pollfd one = { line, POLLIN, 0 };
	struct termios as_set;
	poll(&one, 1, 0);
	int open_now = !(one.revents & POLLHUP);
	speed_t before = speed;
	if (open_now && !tcgetattr(line, &as_set))
		speed = cfgetospeed(&as_set);
	if (open_now && (!is_open || speed != before)) {
		avr_reset(avr);
		avr->data[MCUSR] |= EXTRF;
	}
	is_open = open_now;
	uint8_t some[256];
	ssize_t count = one.revents & POLLIN && in - out < LINE / 2 ? read(line, some, sizeof some) : 0;
	for (ssize_t i = 0; i < count; i++)
		to_chip[in++ % LINE] = some[i];
}

static void give_to_line(void) {
	ssize_t given = said ? write(line, from_chip, said) : 0;
	if (given > 0) {
		said -= (uint32_t)given;
		memmove(from_chip, from_chip + given, said);
	}
}

// ---- the chip ----

// A watchdog that gets a shorter time while it runs keeps the longer one in simavr.
static void watchdog_written(avr_t *chip, avr_io_addr_t address, uint8_t value, void *param) {
	(void)param;
	write_watchdog(chip, address, value, write_param);
	avr_ioctl(chip, AVR_IOCTL_WATCHDOG_RESET, NULL);
}

static void core_was_reset(avr_t *chip) {
	was_reset = 1;
	if (core_reset)
		core_reset(chip);
}

static void load(const char *name, uint8_t *to, size_t room) {
	FILE *file = strcmp(name, "-") ? fopen(name, "rb") : NULL;
	if (file && fread(to, 1, room, file))
		fclose(file);
}

static void make_chip(char **arguments) {
	static uint8_t eeprom[EEPROM];
	avr_global_logger_set(quiet);
	avr = avr_make_mcu_by_name(arguments[0]);
	avr_init(avr);
	avr->frequency = CLOCK_HZ;
	avr->vcc = avr->avcc = avr->aref = 5000;
	avr->sleep = no_sleep;
	avr->run_cycle_limit = SLICE;
	memset(avr->flash, 0xFF, avr->flashend + 1);
	load(arguments[3], avr->flash, avr->flashend + 1);
	avr->codeend = avr->flashend;
	uint32_t start = (uint32_t)strtoul(arguments[1], NULL, 0);
	load(arguments[2], avr->flash + start, avr->flashend + 1 - start);
	avr->reset_pc = avr->pc = start;
	memset(eeprom, 0xFF, sizeof eeprom);
	load(arguments[4], eeprom, sizeof eeprom);
	avr_eeprom_desc_t all = { .ee = eeprom, .offset = 0, .size = avr->e2end + 1u };
	avr_ioctl(avr, AVR_IOCTL_EEPROM_SET, &all);
	for (avr_io_t *io = avr->io_port; io; io = io->next)
		if (!strcmp(io->kind, "uart"))
			uart = (avr_uart_t *)io;
	uart->flags = 0;
	avr_irq_register_notify(uart->io.irq + UART_IRQ_OUTPUT, byte_sent, NULL);
	avr_io_addr_t data = AVR_DATA_TO_IO(UDR0);
	read_data = avr->io[data].r.c, read_param = avr->io[data].r.param;
	avr->io[data].r.c = data_read;
	avr_io_addr_t watchdog = AVR_DATA_TO_IO(WDTCSR);
	write_watchdog = avr->io[watchdog].w.c, write_param = avr->io[watchdog].w.param;
	avr->io[watchdog].w.c = watchdog_written;
	core_reset = avr->reset;
	avr->reset = core_was_reset;
	avr->data[MCUSR] = PORF;
}

static void run_slice(void) {
	avr_cycle_count_t until = avr->cycle + SLICE;
	while (avr->cycle < until) {
		int state = avr_run(avr);
		if (was_reset) {
			was_reset = 0, waiting = 0;
			if (hung != NEVER)
				memcpy(avr->flash + hung, hung_at, 2);
			hung = NEVER;
		}
		if (worn != NEVER)
			avr->flash[worn] &= 0xFE;
		if (state == cpu_Crashed) { // erased flash, which a chip passes through, up to the boot loader
			avr->state = cpu_Running;
			avr->pc = avr->reset_pc;
			avr->cycle += SLICE;
		}
		if (in != out && !avr_cycle_timer_status(avr, byte_due, NULL))
			avr_cycle_timer_register(avr, (avr_cycle_count_t)CLOCK_HZ * 10 / bits_a_second(), byte_due, NULL);
	}
}

// ---- who commands ----

static void dump(const char *name) {
	static uint8_t eeprom[EEPROM];
	avr_eeprom_desc_t all = { .ee = eeprom, .offset = 0, .size = avr->e2end + 1u };
	avr_ioctl(avr, AVR_IOCTL_EEPROM_GET, &all);
	FILE *file = fopen(name, "wb");
	fwrite(avr->flash, 1, avr->flashend + 1, file);
	fwrite(eeprom, 1, avr->e2end + 1u, file);
	fclose(file);
}

static void obey(char *words) {
	char *rest = strchr(words, ' ');
	long number = rest ? strtol(rest + 1, NULL, 0) : 0;
	words[strcspn(words, "\n")] = 0;
	if (!strncmp(words, "cut ", 4))
		left = number;
	else if (!strncmp(words, "bend ", 5))
		bent = number;
	else if (!strncmp(words, "wear ", 5))
		worn = number;
	else if (!strcmp(words, "hang")) {
		hung = (long)avr->pc;
		memcpy(hung_at, avr->flash + hung, 2);
		memcpy(avr->flash + hung, "\xff\xcf", 2); // rjmp .-2
	} else if (!strncmp(words, "dump ", 5))
		dump(rest + 1);
	else if (!strcmp(words, "driven")) {
		printf("%d\n", __builtin_popcount(avr->data[0x24] | avr->data[0x27] << 8 | avr->data[0x2A] << 16)); // DDRx
		return;
	} else if (!strcmp(words, "plug")) {
		avr_reset(avr);
		avr->data[MCUSR] = PORF;
		plug_in();
		return;
	}
	printf("done\n");
}

static int hear(void) {
	char words[512];
	struct pollfd typed = { STDIN_FILENO, POLLIN, 0 };
	if (poll(&typed, 1, 0) <= 0)
		return 1;
	if (!fgets(words, sizeof words, stdin))
		return 0;
	obey(words);
	return 1;
}

static void pace(void) {
	static double ahead_of;
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	double ahead = (double)avr->cycle / CLOCK_HZ - ahead_of - ((double)now.tv_sec + (double)now.tv_nsec * 1e-9);
	if (ahead < -0.02 || ahead > 0.02) // late, or just begun: what is lost is let go
		ahead_of += ahead;
	else if (ahead > 0)
		usleep((useconds_t)(ahead * 1e6));
}

int main(int count, char **arguments) {
	if (count != 6)
		return 2;
	setlinebuf(stdout);
	setvbuf(stdin, NULL, _IONBF, 0); // so that poll sees all that was not read
	make_chip(arguments + 1);
	plug_in();
	while (hear()) {
		if (line >= 0) {
			take_from_line();
			run_slice();
			give_to_line();
			if (!left)
				close(line), line = -1;
		}
		pace();
		if (line < 0)
			usleep(1000);
	}
	return 0;
}
