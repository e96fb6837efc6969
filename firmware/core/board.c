// greet, status, all_off, acknowledge, and the loop.
#include "board.h"

#include "../hal.h"
#include "capture.h"
#include "dispatch.h"
#include "frame.h"
#include "guard.h"
#include "identity.h"
#include "parts.h"
#include "scan.h"
#include "work.h"

static const uint8_t version[3] = {0, 1, 0};

void board_start(void)
{
    dac_start();
    scan_start();
    identity_start();
}

// After a trip the coil switch is open already; the supply behind it follows, from here, because a trip
// must not wait for the bus. One attempt a trip.
static void rest_dac(void)
{
    if (guard_tripped() != TRIP_NONE && dac_code() != 0) {
        dac_write(0);
    }
}

void board_pass(void)
{
    hal_watchdog();
    serve();
    rest_dac();
    hal_sleep();
}

enum result handle_greet(const union request *request)
{
    (void)request;
    answer_greet(SCHEMA_HASH, sizeof version, version, identity_serial(), identity_kind(), hal_reset_cause(),
                 identity_boots(), scan_bare());
    return RESULT_DONE;
}

enum result handle_status(const union request *request)
{
    (void)request;
    answer_status(guard_tripped(), hal_outputs_now(), contacts_closed(), hal_stop_open(), work_in_hand(), hal_ms(),
                  frame_bad(), identity_boots());
    return RESULT_DONE;
}

enum result handle_all_off(const union request *request)
{
    (void)request;
    guard_all_off();
    work_end(RESULT_STOPPED);
    dac_write(0);
    return RESULT_DONE;
}

enum result handle_acknowledge(const union request *request)
{
    (void)request;
    return guard_acknowledge() ? RESULT_DONE : RESULT_TRIPPED;
}
