// What happened after a step: contact edges and coil current, logged in interrupts, read later.
// Rule: a log never overflows silently; edges without room are counted.
#ifndef CAPTURE_H
#define CAPTURE_H

#include <stdbool.h>
#include <stdint.h>

#include "messages.h"

// Forget the last log and be ready for a step: edges and samples of window_ms, a sample every divider * 50 us.
void capture_arm(uint8_t window_ms, uint8_t divider);
// Log from now on. Call it locked, just before the step.
void capture_begin(void);
void capture_stop(void);

// A current sample, in the interrupt; true while more are wanted.
bool capture_sample(uint16_t counts);

uint8_t capture_edges(void);
uint8_t capture_edges_lost(void);
// Throws, as bits, whose edges filled the log faster than a contact can.
uint8_t capture_restless(void);
uint16_t capture_samples(void);
// Number of these logs; those of the next step have another.
uint16_t capture_log(void);

// Throws seen closed now, as bits; an unfed throw reads open.
uint8_t contacts_closed(void);

// Fed throws whose pin goes to and fro faster than a contact can; takes 0.2 ms when any is fed.
uint8_t contacts_restless(void);

// Wait until no pin is restless, as after a bounce; `restless` tells those that are so for 30 ms. Amid work only.
enum result contacts_settle(uint8_t *restless);

#endif
