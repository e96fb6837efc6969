// The converter of the emulated board: the volts on its pins, sampled at the moment at which the part samples them.
//
// They come as waves that are given beforehand, or are asked for at the start of each conversion.

#include "shim.h"

#include <math.h>
#include <string.h>

enum { CODES = 1024, OWN_MV = 1100 };

// ADMUX, REFS1 and REFS0: both set, the chip's own.
static int reference(const struct chip *chip) { return chip->avr->data[0x7c] >> 6 == 3 ? OWN_MV : SUPPLY_MV; }

// simavr scales millivolts by 1023 and rounds down; the part has 1024 codes. The code is made here, and given as the
// fewest millivolts that simavr turns into it.
static void give_code(struct chip *chip, int channel, double volts) {
	int reference_mv = reference(chip), code = (int)(volts * CODES * 1000 / reference_mv);
	code = code < 0 ? 0 : code > CODES - 1 ? CODES - 1 : code;
	avr_raise_irq(chip->adc + channel, (uint32_t)((code * reference_mv + CODES - 2) / (CODES - 1)));
}

static double wave_at(const struct wave *wave, uint64_t cycle) {
	if (!wave->count)
		return 0;
	if (cycle <= wave->start || !wave->step)
		return wave->volts[0];
	uint64_t passed = cycle - wave->start, i = passed / wave->step;
	if (i + 1 >= wave->count)
		return wave->volts[wave->count - 1];
	double part = (double)(passed % wave->step) / wave->step;
	return wave->volts[i] + part * (wave->volts[i + 1] - wave->volts[i]);
}

// In (0, 1), as plant/noise.py has it.
static double uniform(struct chip *chip) {
	uint64_t word = chip->chance += 0x9E3779B97F4A7C15u;
	word = (word ^ (word >> 30)) * 0xBF58476D1CE4E5B9u;
	word = (word ^ (word >> 27)) * 0x94D049BB133111EBu;
	return ((double)(word ^ (word >> 31)) + 0.5) / 18446744073709551616.0;
}

static double noise(struct chip *chip) {
	if (chip->noise_v == 0)
		return 0;
	double far = sqrt(-2 * log(uniform(chip)));
	return chip->noise_v * far * cos(2 * acos(-1) * uniform(chip));
}

static avr_cycle_count_t conversion_seen(avr_t *avr, avr_cycle_count_t when, void *param) {
	(void)avr, (void)when;
	chip_stop(param, CONVERSION);
	return 0;
}

// The part samples 1.5 ADC clocks after the start of a conversion (ATmega328P data sheet, table 24-1); simavr reads
// the volts only when the program reads the result.
static void conversion_starts(struct avr_irq_t *irq, uint32_t value, void *param) {
	struct chip *chip = param;
	union { avr_adc_mux_t mux; uint32_t v; } e = { .v = value };
	(void)irq;
	if (e.mux.kind != ADC_MUX_SINGLE || e.mux.src >= CHANNELS)
		return;
	if (chip->waves[e.mux.src].ask && chip->ahead.channel == e.mux.src && chip->ahead.next < chip->ahead.last) {
		give_code(chip, e.mux.src, chip->ahead.volts[chip->ahead.next++]);
		return;
	}
	if (chip->waves[e.mux.src].ask) {
		chip->asked = e.mux.src;
		chip_timer(chip, chip->avr->cycle + 1, conversion_seen); // a timer, because simavr arms its own after this call
		return;
	}
	uint8_t shift = chip->avr->data[0x7a] & 7; // ADCSRA, ADPS
	uint64_t at = chip->avr->cycle + (3u << (shift ? shift : 1)) / 2;
	double erred = noise(chip) * reference(chip) / SUPPLY_MV;
	give_code(chip, e.mux.src, wave_at(&chip->waves[e.mux.src], at) + erred);
}

void chip_ask(struct chip *chip, uint8_t channel) { chip->waves[channel].ask = 1; }

uint32_t chip_asked(struct chip *chip) { return chip->asked; }

void chip_volts(struct chip *chip, uint8_t channel, double volts) { give_code(chip, channel, volts); }

// The same for conversions of the channel to come, one each, in the next run; what that leaves is forgotten.
void chip_ahead(struct chip *chip, uint8_t channel, const double *volts, uint32_t count) {
	chip->ahead.channel = channel;
	chip->ahead.given = count > AHEAD ? AHEAD : count;
	memcpy(chip->ahead.volts, volts, chip->ahead.given * sizeof *volts);
}

void chip_wave(struct chip *chip, uint8_t channel, uint64_t start, uint32_t step, const double *volts, uint32_t count) {
	struct wave *wave = &chip->waves[channel];
	wave->start = start;
	wave->step = step;
	wave->count = count > WAVE ? WAVE : count;
	memcpy(wave->volts, volts, wave->count * sizeof *volts);
}

// What each conversion of a wave errs by chance; volts that are asked for have theirs already.
void chip_noise(struct chip *chip, double volts, uint64_t seed) {
	chip->noise_v = volts;
	chip->chance = seed;
}

void converter_attach(struct chip *chip) {
	chip->adc = avr_io_getirq(chip->avr, AVR_IOCTL_ADC_GETIRQ, 0);
	avr_irq_register_notify(chip->adc + ADC_IRQ_OUT_TRIGGER, conversion_starts, chip);
}
