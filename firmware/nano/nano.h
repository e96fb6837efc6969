// What the files of this folder ask of each other; everything else goes by hal.h.
#ifndef NANO_H
#define NANO_H

#include <stdbool.h>
#include <stdint.h>

void ram_start(void); // takes chance from unused RAM, then paints it
void pins_start(void);
void outputs_start(void); // port B's outputs low, no pull-up of the chip on an edge pin
void clock_start(void);
void uart_start(void);
void adc_start(void);
void edges_start(void);
void twi_start(void);

// End the beat and wait for the conversion in hand, so that the next can start at a chosen moment.
void adc_rest(void);
// Start a coil current conversion now, and the 50 us beat from it.
void adc_beat(void);

// In the interrupt of an edge, which the chip prefers: the sample and the millisecond that wait for its end, if any.
void adc_overtake(void);
void clock_overtake(void);

// Converter channel of a bare board's line.
uint8_t bare_channel(uint8_t line);

// True while received bytes wait.
bool uart_waiting(void);

#endif
