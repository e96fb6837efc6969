// What the host says, by its mood: frames valid, wrong, damaged, repeated, and garbage.
#include "talk.h"

#include "../../core/board.h"
#include "../../core/line/frame.h"
#include "../../core/safety/guard.h"
#include "chance.h"
#include "line.h"
#include "promises.h"
#include "requests.h"

struct talk_count talk_count;

void talk_frame(uint8_t id)
{
    uint8_t bytes[MOST_ENCODED] = {0};
    line_deliver(bytes, id ? request_frame(id, bytes) : any_frame(bytes));
}

static void send_copy(void)
{
    uint8_t bytes[MOST_ENCODED] = {0};
    line_deliver(bytes, old_status(bytes));
}

static void send_damaged(void)
{
    uint8_t bytes[MOST_ENCODED] = {0};
    bool slipped;
    uint32_t length = damaged(bytes, any_frame(bytes), &slipped);
    talk_count.damaged++;
    talk_count.slipped += slipped;
    line_deliver(bytes, length);
}

static void send_garbage(void)
{
    uint8_t bytes[200];
    uint32_t length = 1 + chance_of(sizeof bytes);
    for (uint32_t i = 0; i < length; i++) {
        bytes[i] = once_in(8) ? 0 : (uint8_t)chance();
    }
    line_deliver(bytes, length);
}

void talk(enum mood mood)
{
    static const uint8_t works[] = {ID_HOLD_COIL, ID_STEP_COIL,   ID_STAIRCASE,  ID_HOT_STEP,
                                    ID_LOAD_PULSE, ID_WATCH_LOAD, ID_SCAN, ID_FOLLOW_COIL};
    if (guard_tripped() != TRIP_NONE && once_in(4)) {
        talk_frame(ID_ACKNOWLEDGE);
        return;
    }
    if (!promises_begun() && mood != SILENT && once_in(3)) {
        talk_frame(ID_BEGIN);
        return;
    }
    switch (mood) {
    case WORKING:
        talk_frame(once_in(6) ? works[chance_of(sizeof works)] : ID_STATUS);
        break;
    case LOADING:
        talk_frame(once_in(2) ? ID_STATUS : once_in(2) ? ID_LOAD_PULSE : ID_HOT_STEP);
        break;
    case SILENT:
        if (once_in(4)) {
            send_copy();
        }
        break;
    case NOISY:
        once_in(4) ? send_garbage() : send_damaged();
        break;
    default:
        once_in(16) ? send_damaged() : talk_frame(0);
    }
}
