// A tiny program that asks the emulated chip about itself, so that the shim is tested without the firmware.
// Each command is one byte and its arguments on the serial line at 500 kbaud; each answers with bytes.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>
#include <util/twi.h>

static uint8_t cause __attribute__((section(".noinit")));
static volatile uint16_t stamps[16];
static volatile uint8_t stamp_count;

__attribute__((naked, used, section(".init3"))) static void keep_cause(void) {
	cause = MCUSR;
	MCUSR = 0;
	wdt_disable();
}

static void stamp(uint16_t at) {
	if (stamp_count < 16)
		stamps[stamp_count++] = at;
}

ISR(TIMER1_CAPT_vect) {
	stamp(ICR1);
	TCCR1B ^= _BV(ICES1);
	TIFR1 = _BV(ICF1);
}

ISR(PCINT2_vect) { stamp(TCNT1); }

static uint8_t get(void) {
	while (!(UCSR0A & _BV(RXC0))) {}
	return UDR0;
}

static void put(uint8_t byte) {
	while (!(UCSR0A & _BV(UDRE0))) {}
	UDR0 = byte;
}

static void put_word(uint16_t word) {
	put((uint8_t)word);
	put((uint8_t)(word >> 8));
}

static void convert(uint8_t channel) {
	ADMUX = _BV(REFS0) | channel;
	ADCSRA = _BV(ADEN) | _BV(ADSC) | 4;
	while (ADCSRA & _BV(ADSC)) {}
	put_word(ADC);
}

// One bus condition: the status, or 0 when it never comes.
static uint8_t twi(uint8_t control) {
	TWCR = control | _BV(TWINT) | _BV(TWEN);
	for (uint16_t tries = 0; tries < 2000; tries++)
		if (TWCR & _BV(TWINT))
			return TW_STATUS;
	TWCR = 0;
	return 0;
}

static void write_part(void) {
	uint8_t address = get(), count = get();
	put(twi(_BV(TWSTA)));
	TWDR = (uint8_t)(address << 1);
	put(twi(0));
	while (count--) {
		TWDR = get();
		put(twi(0));
	}
	TWCR = _BV(TWINT) | _BV(TWEN) | _BV(TWSTO);
}

// Told only when all is over, so that the last word is the time on the bus alone, in ticks of 0.5 us.
static void read_part(void) {
	uint8_t address = get(), count = get(), told[20], n = 0;
	uint16_t began = TCNT1;
	told[n++] = twi(_BV(TWSTA));
	TWDR = (uint8_t)(address << 1 | 1);
	told[n++] = twi(0);
	while (count--) {
		told[n++] = twi(count ? _BV(TWEA) : 0);
		told[n++] = TWDR;
	}
	uint16_t took = TCNT1 - began;
	TWCR = _BV(TWINT) | _BV(TWEN) | _BV(TWSTO);
	for (uint8_t i = 0; i < n; i++)
		put(told[i]);
	put_word(took);
}

static void tell_stamps(void) {
	cli();
	put(stamp_count);
	for (uint8_t i = 0; i < stamp_count; i++)
		put_word(stamps[i]);
	stamp_count = 0;
	sei();
}

static void obey(uint8_t command) {
	switch (command) {
	case 'e': put(get()); break;
	case 'm': put(cause); break;
	case 'a': convert(get()); break;
	case 'w': write_part(); break;
	case 'r': read_part(); break;
	case 's': tell_stamps(); break;
	case 'n': put_word(TCNT1); break;
	case 'b': PORTB = get(); put(PINB); break;
	case 'h': wdt_enable(WDTO_250MS); cli(); for (;;) {}
	default: put('?');
	}
}

int main(void) {
	UCSR0A = _BV(U2X0);
	UBRR0 = 3;
	UCSR0B = _BV(RXEN0) | _BV(TXEN0);
	DDRB = _BV(PB1) | _BV(PB2) | _BV(PB5);
	TCCR1B = _BV(CS11);
	TIMSK1 = _BV(ICIE1);
	PCICR = _BV(PCIE2);
	PCMSK2 = _BV(PCINT23);
	TWBR = 12;
	sei();
	for (;;)
		obey(get());
}
