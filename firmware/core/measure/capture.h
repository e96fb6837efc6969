// What happened after a step: contact edges and coil current, logged in interrupts, read later.
// Rule: a log never overflows silently; edges without room are counted.
#ifndef CAPTURE_H
#define CAPTURE_H

#include <stdbool.h>
#include <stdint.h>

#include "../line/messages.h"

#define BOTH_THROWS 3 // NO and NC, as bits

// Forget the last logs and be ready for a step: edges and samples of window_ms, a sample every divider * 50 us.
void capture_arm(uint16_t window_ms, uint8_t divider);
// Log from now on. Call it locked, just before the step.
void capture_begin(void);
void capture_stop(void);

// A current sample, in the interrupt; true while more are wanted.
bool capture_sample(uint16_t counts);

// Where the samples lie, 360 of them, for what a build without a coil keeps there.
uint16_t *capture_room(void);

uint8_t capture_edges(void);
uint8_t capture_edges_lost(void);
uint16_t capture_samples(void);
// Number of these logs; those of the next step have another.
uint16_t capture_log(void);

// Throws seen closed now, as bits; an unfed throw reads open.
uint8_t contacts_closed(void);

// Throws that a source or a load feeds now, as bits.
uint8_t contacts_fed(void);

// Take note of pins that move; call it over and over.
void contacts_keep(void);

// Fed throws, as bits, whose pin moved within the last 10 ms: what they are now may be no state.
uint8_t contacts_restless(void);

// Wait until none of these throws is restless, as after a bounce; `restless` names those that are so for 40 ms on end.
// Amid work only.
enum result contacts_settle(uint8_t throws, uint8_t *closed, uint8_t *restless);

#endif
