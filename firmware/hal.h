// The whole hardware surface: what the portable core asks of a board, and what a board calls back.
// Rule: nothing in core/ knows a register, a port or a vector; everything passes through here.
#ifndef HAL_H
#define HAL_H

#include <stdbool.h>
#include <stdint.h>

// Tables that stay in flash on the AVR, where a plain const would be copied to RAM.
#ifdef __AVR__
#define FLASH __flash
#else
#define FLASH
#endif

// Variables that a reset leaves as they are; after the power was off they hold anything.
#define KEPT __attribute__((section(".noinit")))

// Bits of an outputs word, as `status` reports them.
#define OUT_COIL (1u << 0)
#define OUT_DIODE (1u << 1) // an evening build's few mA to 86
#define OUT_BRANCH_SHIFT 2
#define OUT_BRANCHES (15u << OUT_BRANCH_SHIFT)
#define OUT_THROW_SHIFT 6
#define OUT_THROWS (3u << OUT_THROW_SHIFT)
#define OUT_DRY_SHIFT 8
#define OUT_DRY (3u << OUT_DRY_SHIFT)
#define OUT_LAMP (1u << 10) // dark, it holds the coil supply at 0, whatever the DAC's code (hardware/circuit.yaml, Q6),
                            // or an evening build's main relay K1, which feeds coil and load, open

// The MCP4725 comes with any of four addresses: this one and the three after it.
enum part {
    PART_INA226, PART_ADS1115, PART_EVENING_ADS1115, PART_ADS1115_SCAN, PART_MCP23017, PART_MCP4725,
    PART_MCP4725_LAST = PART_MCP4725 + 3
};

// Interrupts off, and back to what they were; may be nested. No memory access is moved across either.
uint8_t hal_lock(void);
void hal_unlock(uint8_t before);

// Milliseconds since the start.
uint32_t hal_ms(void);

// Outputs: set all pins to the word; read the real pin latches back. Both may be called from an interrupt.
void hal_outputs(uint16_t outputs);
uint16_t hal_outputs_now(void);
bool hal_coil_on(void); // the coil's bit alone, for the sampling interrupt

// As hal_outputs, with the coil pin first: edge ticks and current samples count from here. Call it locked, and
// hal_step_soon just before, unlocked: it lets the converter come to rest (30 us), so that the lock is short.
void hal_step_soon(void);
void hal_step(uint16_t outputs);
void hal_edges_stop(void);

// Levels: bit 0 terminal 87 low, bit 1 terminal 87a low; true while the emergency stop is open, and while it is seen
// closed: then it is fitted, so that the board is none that is bare.
uint8_t hal_pins_low(void);
bool hal_stop_open(void);
bool hal_stop_closed(void);

// Bits as of hal_pins_low: pins that moved since the last call, also those that are back. While edges are listened to it
// may leave out what edge_seen is told.
uint8_t hal_pins_moved(void);

// Coil current every 50 us, handed to `sampled`, until that returns false. Harmless when already running.
void hal_sampling_start(void);

// From now on samples are of the coil's low end, or of its current again; while the coil is on always of its current.
void hal_sample_low_side(bool low_side);

// Sum of 16 conversions of a slow channel, spread over 20 ms; ready is true once.
void hal_analog_begin(uint8_t channel);
bool hal_analog_ready(uint16_t *sum);

// A bare board has no outputs: hal_outputs does nothing, nothing is ever on, and no emergency stop is fitted.
// Its pins are the scan's: source high (weak: by its pull-up) and sink low, all others open; 0 is no line. At rest, that
// is from hal_bare_set on and with neither, all are low: a coil's current then dies down in the drive resistors.
void hal_bare_set(bool bare);
bool hal_bare(void);
void hal_bare_drive(uint8_t source, uint8_t sink, bool weak);
void hal_bare_sense(uint8_t line); // begins a sum as hal_analog_begin does

// From now on the lines of a bare board at `lines`, LEAD_INPUTS of them, in turn, 0.1 ms apart; every 2.4 ms the sums of
// six conversions each are handed to `lead_read`. NULL, or anything else that converts, ends it.
#define LEAD_INPUTS 4
void hal_lead_watch(const FLASH uint8_t *lines);
bool hal_lead_watching(void);

// The chip's own reference of 1.1 V in place of 5 V, with this line on the converter meanwhile, so that its capacitor
// takes no charge of another; 0: 5 V again.
void hal_own_reference(uint8_t line);

// Write, then read (repeated start), either may be empty; false when the part did not answer in time.
bool hal_i2c(enum part part, const uint8_t *out, uint8_t out_length, uint8_t *in, uint8_t in_length);

// False while something holds a line of the bus low: then parts are there, even if none answers.
bool hal_bus_free(void);

// The line to the host; hal_send waits while its ring is full.
bool hal_receive(uint8_t *byte);
void hal_send(uint8_t byte);

uint8_t hal_eeprom_read(uint16_t address);
void hal_eeprom_write(uint16_t address, uint8_t value);

// Bits of enum reset.
uint8_t hal_reset_cause(void);
// Whether they still stood when the firmware began: then no boot loader came before it, or one that leaves them.
bool hal_causes_kept(void);
// Another number than at the last start, if RAM was kept; else as RAM comes up, for which nobody vouches.
uint16_t hal_chance(void);
// Bytes of RAM that the stack never reached since the start.
uint16_t hal_stack_spare(void);

// Call every pass; without it for 120 ms the board restarts, and also when the milliseconds stand still for that long.
void hal_watchdog(void);

// Sleep until the next interrupt; returns at once when a byte is waiting.
void hal_sleep(void);

// Called by the hardware, in interrupts.
void ticked(void);               // every millisecond
bool sampled(uint16_t counts);   // every 50 us while sampling; false ends the sampling
void stop_opened(void);          // emergency stop
void edge_seen(uint32_t ticks, bool nc, bool closed);
void lead_read(const uint16_t *sums); // LEAD_INPUTS of them

#endif
