// Coil current every 50 us (Timer0), and the slow channels between its samples.
// Rule: one interrupt does it all; it reads the last conversion and starts the next, so nothing ever waits.
//
// Coil current converts in 26 us (500 kHz ADC clock). A slow conversion, 104 us at 125 kHz, takes the place of
// three samples; the last current is handed on meanwhile, so that 20 samples stay 1 ms for the guard.
// While a bare board watches its vehicle lead, a beat of its own (compare B) makes every second one a conversion of that,
// 52 us at 250 kHz: the sampling interrupt, which edges wait for, stays as short as it is.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <stddef.h>

#include "../hal.h"
#include "nano.h"
#include "pins.h"

#define AT_AVCC _BV(REFS0)
#define AT_OWN (_BV(REFS1) | _BV(REFS0))
#define FAST (_BV(ADEN) | _BV(ADPS2) | _BV(ADPS0))
#define SLOW (_BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0))
#define WATCHED (_BV(ADEN) | _BV(ADPS2) | _BV(ADPS1))
#define LEAD_SUMMED 6
#define SLOW_SUMMED 16
#define SLOW_EVERY 25 // beats: 16 of them span 20 ms, one period of 50 Hz hum

static const FLASH uint8_t channels[] = {
    COIL_CURRENT_CHANNEL, TEMPERATURE_CHANNEL, LOAD_SUPPLY_CHANNEL, COIL_LOW_SIDE_CHANNEL};

static uint16_t current; // last coil current, or what is sampled in its place
static uint8_t fast_mux = AT_AVCC | COIL_CURRENT_CHANNEL;
static volatile uint8_t slow_left;
static uint8_t slow_mux, slow_beat;
static bool slow_running;
static uint16_t slow_sum;
static uint8_t reference = AT_AVCC; // of what is begun next
static const FLASH uint8_t *lead; // its lines while it is watched
static uint8_t lead_turn; // conversions of the reading that is being made
static uint16_t lead_sums[LEAD_INPUTS];

static void convert(uint8_t mux, uint8_t control)
{
    ADMUX = mux;
    ADCSRA = control;
    ADCSRA = control | _BV(ADSC);
}

// The guard needs the current of a coil that is on, whatever else was asked for.
static void convert_fast(void)
{
    convert(hal_coil_on() ? AT_AVCC | COIL_CURRENT_CHANNEL : fast_mux, FAST);
}

void hal_sample_low_side(bool low_side)
{
    fast_mux = AT_AVCC | (low_side ? COIL_LOW_SIDE_CHANNEL : COIL_CURRENT_CHANNEL);
}

static void take_result(void)
{
    uint16_t result = ADC;
    if (!slow_running) {
        current = result;
        return;
    }
    slow_running = false;
    slow_sum += result;
    slow_left--;
}

static void start_next(void)
{
    if (slow_left != 0 && --slow_beat == 0) {
        slow_beat = SLOW_EVERY - 2; // its own conversion takes the place of two more
        slow_running = true;
        convert(slow_mux, SLOW);
    } else {
        convert_fast();
    }
}

static void convert_lead(void)
{
    convert(AT_AVCC | bare_channel(lead[lead_turn % LEAD_INPUTS]), WATCHED);
}

static void take_lead(void)
{
    lead_sums[lead_turn % LEAD_INPUTS] += ADC;
    if (++lead_turn == LEAD_INPUTS * LEAD_SUMMED) {
        lead_turn = 0;
        lead_read(lead_sums);
        for (uint8_t i = 0; i < LEAD_INPUTS; i++) {
            lead_sums[i] = 0;
        }
    }
    convert_lead();
}

static void beat(void)
{
    if (!(ADCSRA & _BV(ADSC))) {
        take_result();
        start_next();
    }
    if (!sampled(current) && slow_left == 0) {
        TIMSK0 = 0;
    }
}

// Flat: an edge of 87a waits for its end.
ISR(TIMER0_COMPA_vect, __attribute__((flatten)))
{
    beat();
}

ISR(TIMER0_COMPB_vect)
{
    if (!(ADCSRA & _BV(ADSC))) {
        take_lead();
    }
}

void adc_overtake(void)
{
    if (TIFR0 & TIMSK0 & _BV(OCF0A)) {
        TIFR0 = _BV(OCF0A);
        beat();
    }
}

void adc_start(void)
{
    DIDR0 = _BV(ADC0D) | _BV(ADC1D);
    TCCR0A = _BV(WGM01); // clear at compare
    OCR0A = OCR0B = F_CPU / 8 / 20000 - 1;
    TCCR0B = _BV(CS01); // 8
    convert(AT_AVCC | COIL_CURRENT_CHANNEL, FAST); // the first conversion takes twice as long: be done with it
}

void adc_rest(void)
{
    TIMSK0 = 0;
    while (ADCSRA & _BV(ADSC)) {
    }
}

void adc_beat(void)
{
    slow_running = false;
    slow_left = 0; // of a reading that was given up
    convert_fast();
    TCNT0 = 0;
    TIFR0 = _BV(OCF0A);
    TIMSK0 = _BV(OCIE0A);
}

void hal_sampling_start(void)
{
    if (TIMSK0 == 0) {
        adc_rest();
        adc_beat();
    }
}

void hal_lead_watch(const FLASH uint8_t *lines)
{
    if (lead || lines) {
        adc_rest();
        lead = lines;
    }
    if (lines) {
        lead_turn = 0;
        for (uint8_t i = 0; i < LEAD_INPUTS; i++) {
            lead_sums[i] = 0;
        }
        convert_lead();
        TCNT0 = 0;
        TIFR0 = _BV(OCF0B);
        TIMSK0 = _BV(OCIE0B);
    }
}

bool hal_lead_watching(void)
{
    return lead != NULL;
}

void hal_own_reference(uint8_t line)
{
    adc_rest();
    reference = line ? AT_OWN : AT_AVCC;
    fast_mux = reference | (line ? bare_channel(line) : COIL_CURRENT_CHANNEL);
    adc_beat();
}

static void begin_slow(uint8_t mux)
{
    hal_lead_watch(NULL);
    uint8_t before = hal_lock();
    hal_sampling_start();
    slow_mux = mux;
    slow_sum = 0;
    slow_beat = 1;
    slow_left = SLOW_SUMMED;
    hal_unlock(before);
}

void hal_analog_begin(uint8_t channel)
{
    begin_slow(AT_AVCC | channels[channel]);
}

void hal_bare_sense(uint8_t line)
{
    begin_slow(reference | bare_channel(line));
}

bool hal_analog_ready(uint16_t *sum)
{
    if (slow_left != 0) {
        return false;
    }
    *sum = slow_sum;
    return true;
}
