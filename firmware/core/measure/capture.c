// The two logs of the last step, and the requests that read them.
#include "capture.h"

#include <stddef.h>

#include "../../hal.h"
#include "../line/handlers.h"
#include "../safety/work.h"

#define MOST_EDGES 40
#define MOST_SAMPLES 360
#define EDGES_A_FRAME 12 // as the schema has it
#define SAMPLES_A_FRAME 25
#define EDGE_CLOSED (1ul << 31)
#define EDGE_NC (1ul << 30)
#define TICKS (EDGE_NC - 1)
#define TICKS_A_MS 2000u  // 0.5 us each
#define REST_MS 10   // between two edges of a bounce are 1 ms and less
#define SETTLE_MS 40 // longer than a contact bounces, and REST_MS
#define LATE_TICKS 200u   // 0.1 ms, by which an edge of the window can be logged behind one after it
#define SAMPLES_A_MS 20u

static uint32_t edges[MOST_EDGES];
static volatile uint8_t edge_count, edges_lost, edge_behind; // behind the window: moved, though not logged
static uint32_t last_tick;
static uint16_t samples[MOST_SAMPLES];
static volatile uint16_t sample_count;
static uint16_t samples_wanted, samples_due; // due: wanted from the step on
static uint8_t every, skip; // conversions from one sample to the next, and until it
static uint16_t log_number; // of the last step, and of both logs
static uint32_t moved_ms[2]; // when each pin was last seen to have moved
static uint8_t edges_known;

void capture_arm(uint16_t window_ms, uint8_t divider)
{
    uint16_t due = (window_ms * SAMPLES_A_MS + divider - 1) / divider; // the first is at the step
    contacts_keep(); // what was logged since is forgotten here
    log_number++;
    edge_count = edges_lost = edges_known = 0;
    last_tick = window_ms * (uint32_t)TICKS_A_MS;
    samples_due = due < MOST_SAMPLES ? due : MOST_SAMPLES;
    every = divider;
    skip = 1;
    hal_edges_stop();
    uint8_t before = hal_lock();
    sample_count = samples_wanted = 0;
    hal_unlock(before);
}

void capture_begin(void)
{
    samples_wanted = samples_due;
}

void capture_stop(void)
{
    hal_edges_stop();
    uint8_t before = hal_lock();
    samples_wanted = sample_count;
    hal_unlock(before);
}

bool capture_sample(uint16_t counts)
{
    if (sample_count == samples_wanted) {
        return false;
    }
    if (--skip == 0) {
        skip = every;
        samples[sample_count++] = counts;
    }
    return true;
}

// The two throws have two interrupts, so an edge may arrive after a later one: it is put in its place.
// Edges without end would leave no time for anything else, the guard's clock first: what logs no more stops listening.
void edge_seen(uint32_t ticks, bool nc, bool closed)
{
    if (ticks > last_tick) {
        edge_behind = 1;
        if (ticks - last_tick > LATE_TICKS) {
            hal_edges_stop();
        }
        return;
    }
    if (edge_count == MOST_EDGES) {
        edges_lost = 1;
        hal_edges_stop();
        return;
    }
    uint8_t place = edge_count++;
    while (place > 0 && (edges[place - 1] & TICKS) > ticks) {
        edges[place] = edges[place - 1];
        place--;
    }
    edges[place] = ticks | (nc ? EDGE_NC : 0) | (closed ? EDGE_CLOSED : 0);
}

uint16_t *capture_room(void)
{
    return samples;
}

uint8_t capture_edges(void)
{
    return edge_count;
}

uint8_t capture_edges_lost(void)
{
    return edges_lost;
}

uint16_t capture_log(void)
{
    return log_number;
}

uint16_t capture_samples(void)
{
    uint8_t before = hal_lock();
    uint16_t count = sample_count;
    hal_unlock(before);
    return count;
}

uint8_t contacts_fed(void)
{
    uint16_t outputs = hal_outputs_now();
    uint8_t fed = (outputs & OUT_DRY) >> OUT_DRY_SHIFT;
    if (outputs & OUT_BRANCHES) {
        fed |= (outputs & OUT_THROWS) >> OUT_THROW_SHIFT;
    }
    return fed;
}

uint8_t contacts_closed(void)
{
    return hal_pins_low() & contacts_fed();
}

// What moves while edges are logged is in the log, with both pins together.
void contacts_keep(void)
{
    uint32_t now = hal_ms();
    uint8_t moved = hal_pins_moved(), logged = edge_count;
    if (logged > edges_known || edge_behind) {
        edge_behind = 0;
        moved = BOTH_THROWS;
    }
    edges_known = logged;
    for (uint8_t i = 0; i < 2; i++) {
        if (moved >> i & 1) {
            moved_ms[i] = now;
        }
    }
}

uint8_t contacts_restless(void)
{
    uint8_t restless = 0;
    contacts_keep();
    for (uint8_t i = 0; i < 2; i++) {
        if (hal_ms() - moved_ms[i] < REST_MS) {
            restless |= (uint8_t)(1u << i);
        }
    }
    return restless & contacts_fed();
}

// In this order: a pin that moves between the two looks is restless, and what it was is not told as a state.
enum result contacts_settle(uint8_t throws, uint8_t *closed, uint8_t *restless)
{
    enum result result = RESULT_DONE;
    uint32_t start = hal_ms();
    *closed = contacts_closed();
    *restless = contacts_restless() & throws;
    while (*restless && result == RESULT_DONE && hal_ms() - start < SETTLE_MS) {
        result = work_wait(1);
        *closed = contacts_closed();
        *restless = contacts_restless() & throws;
    }
    return result;
}

// How many values to send: what is stored from `first` on, but no more than a frame takes.
static uint8_t portion(uint16_t first, uint16_t stored, uint8_t most)
{
    uint16_t rest = first < stored ? stored - first : 0;
    return rest < most ? (uint8_t)rest : most;
}

enum result handle_read_edges(const union request *request)
{
    uint8_t first = request->read_edges.first;
    uint8_t count = portion(first, capture_edges(), EDGES_A_FRAME);
    answer_read_edges(log_number, count, count ? &edges[first] : NULL);
    return RESULT_DONE;
}

enum result handle_read_samples(const union request *request)
{
    uint16_t first = request->read_samples.first;
    uint8_t count = portion(first, capture_samples(), SAMPLES_A_FRAME);
    answer_read_samples(log_number, count, count ? &samples[first] : NULL);
    return RESULT_DONE;
}
