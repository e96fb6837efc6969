// greet, status, all_off, acknowledge, and the loop.
#include "board.h"

#include <stddef.h>

#include "../hal.h"
#include "build.h"
#include "measure/capture.h"
#include "measure/lead.h"
#include "line/dispatch.h"
#include "safety/duty.h"
#include "line/frame.h"
#include "safety/guard.h"
#include "line/handlers.h"
#include "identity.h"
#include "measure/parts.h"
#include "measure/scan.h"
#include "safety/work.h"

#define PARTS_AGAIN_MS 200
#define BUS_AGAIN_MS 6 // a held bus takes 3 ms to give up

static const uint8_t version[3] = {0, 1, 0};

void board_start(void)
{
    work_serves(serve);
    duty_start(hal_reset_cause() & RESET_POWER_ON);
    dac_start();
    scan_start();
    identity_boot();
}

static bool may_try(uint8_t failed_ms) // when, or 0
{
    return failed_ms == 0 || (uint8_t)(((uint8_t)hal_ms() | 1) - failed_ms) >= BUS_AGAIN_MS;
}

static uint8_t tried(bool done)
{
    return done ? 0 : (uint8_t)hal_ms() | 1;
}

// The supply behind the coil's switch is an output too. It follows from here, because neither a trip nor the end of
// the lease must wait for the bus; again and again until it gives the zero back.
static void rest_dac(void)
{
    static uint8_t failed_ms;
    bool due = guard_tripped() != TRIP_NONE || guard_lapsed() || dac_lost();
    if (due && !dac_rests() && may_try(failed_ms)) {
        failed_ms = tried(dac_write(0));
    }
}

// What the bus did not let a scan take off.
static void rest_scan(void)
{
    static uint8_t failed_ms;
    if (scan_lost() && !hal_bare() && may_try(failed_ms)) {
        failed_ms = tried(scan_off());
    }
}

// A board that starts while its bus is down may take itself for bare, or for one without a DAC, and leaves the DAC at
// what it was: it looks again, while nothing is on, because a bus that is held takes 24 ms to ask.
static void look_for_parts(void)
{
    static uint32_t looked_ms;
    bool due = hal_bare() || parts_silent() || dac_missing() || build_faulty();
    if (due && hal_outputs_now() == 0 && hal_ms() - looked_ms >= PARTS_AGAIN_MS) {
        looked_ms = hal_ms();
        if (scan_bare()) {
            return;
        }
        if (parts_silent()) {
            scan_look();
        } else if (dac_missing()) {
            dac_start();
        }
    }
}

void board_pass(void)
{
    hal_watchdog();
    serve();
    duty_keep();
    contacts_keep();
    look_for_parts();
    lead_keep();
    rest_dac();
    rest_scan();
    hal_sleep();
}

enum result handle_greet(const union request *request)
{
    (void)request;
    if (work_in_hand() == 0) {
        scan_bare();
    }
    answer_greet(SCHEMA_HASH, sizeof version, version, identity_serial(), identity_kind(), hal_reset_cause(),
                 identity_boots(), build_now(), identity_start(),
                 hal_causes_kept(), hal_stack_spare(), dispatch_newest(), dac_place(), dispatch_question());
    return RESULT_DONE;
}

static uint8_t faults(void)
{
    if (hal_bare()) {
        return 0;
    }
    uint8_t found = scan_lost() ? FAULT_SCAN : 0;
    return found | (parts_silent() || build_faulty() ? FAULT_BUS : dac_lost() ? FAULT_COIL_SUPPLY : 0);
}

enum result handle_status(const union request *request)
{
    (void)request;
    uint8_t closed = contacts_closed(), restless = contacts_restless(); // what moves between the two is restless
    answer_status(guard_tripped(), hal_outputs_now(), closed, restless, hal_stop_open(),
                  work_in_hand(), hal_ms(), frame_bad(), identity_start(), faults(), dispatch_last());
    return RESULT_DONE;
}

enum result handle_all_off(const union request *request)
{
    (void)request;
    guard_all_off();
    work_end(RESULT_STOPPED);
    hal_lead_watch(NULL);
    bool off = hal_bare() || scan_off();
    return (dac_write(0) || dac_rests()) && off ? RESULT_DONE : RESULT_BUS;
}

enum result handle_acknowledge(const union request *request)
{
    (void)request;
    return guard_acknowledge() ? RESULT_DONE : RESULT_TRIPPED;
}
