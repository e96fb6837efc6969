// scan: by multiplexers and a converter on the bus, or by the Nano's own pins when nothing is on the bus.
// Rule: the bare pins are driven only while no I2C part answers; they are asked before every scan. Nor are they on a
// board whose emergency stop is seen closed, or on whose bus a part has ever answered: on a full one two of them switch
// the load's throws. There a bus that is dead stays a dead bus.
#include "scan.h"

#include "../../hal.h"
#include "../line/handlers.h"
#include "../safety/guard.h"
#include "../build.h"
#include "../identity.h"
#include "parts.h"
#include "sense.h"
#include "../safety/work.h"

#define SETTLE_MS 20 // 10 time constants of a 24 V coil behind 790 ohm, 1.5 H
#define COLLAPSE_MS 10
#define LINE_87A 4 // terminals 85, 86, 87 and 87a are 1 to 4, loose leads 5 to 8
#define LINE_30 9
#define LINE_85 1
#define LINE_86 2
#define K1_OPENS_MS 30 // its coil's diode makes it slow

#define LEFT_ON 0x5CA9

// hardware/circuit.yaml, U10: port A has drive (bits 2..0) and sink (6..4), bits 3 and 7 switch them off;
// port B has look (2..0), and bit 3 closes the reed relays of 85 and 86.
#define DRIVE_OFF 0x08
#define SINK_OFF 0x80
#define COIL_RELAYS 0x08

#define LOOK_GAIN 0  // 6.144 V
#define DRIVE_GAIN 4 // 0.512 V: at most 4.2 mA through 100 ohm; one line at both ends takes 14 mA, and is over range
#define SINK_GAIN 5  // 0.256 V: at most 2.4 mA through 100 ohm

struct seen {
    int16_t driven, sunk, source, sink, look, supply;
};

// LEFT_ON from the moment when a scan may be on until its rest was read back. Power-on does not clear it either: a short
// dip resets this chip and not the ports.
static KEPT uint16_t left;

static bool rest(void)
{
    bool resting = ports_write(DRIVE_OFF | SINK_OFF, 0) && ports_hold(DRIVE_OFF | SINK_OFF, 0);
    if (resting) {
        left = 0;
    }
    return resting;
}

bool scan_lost(void)
{
    return left == LEFT_ON && work_in_hand() != ID_SCAN && !build_evening(); // that has no ports
}

bool scan_off(void)
{
    return left != LEFT_ON || build_evening() || rest();
}

// Whether a part answers; the first one ever is kept.
static bool answers(void)
{
    bool any = parts_any();
    if (any && !identity_full()) {
        identity_keep_full();
    }
    return any;
}

static bool looks_bare(void)
{
    return !answers() && hal_bus_free() && !hal_stop_closed() && !identity_full();
}

void scan_start(void)
{
    hal_bare_set(looks_bare());
    if (hal_bare()) {
        guard_acknowledge(); // the stop that is not there has tripped already
    } else {
        build_look();
        rest();
    }
}

bool scan_bare(void)
{
    if (hal_bare() && !looks_bare()) {
        hal_bare_set(false);
        dac_start();
        rest();
    }
    if (!hal_bare()) {
        build_look();
    }
    return hal_bare();
}

void scan_look(void)
{
    if (answers()) {
        build_look();
        dac_start();
        rest();
    }
}

// --- full build ---

// Ports that have never answered, of a stage that is not built, hold nothing.
static void note_on(void)
{
    if (ports_heard()) {
        left = LEFT_ON;
    }
}

static bool connect(const struct scan_request *scan, uint8_t look)
{
    uint8_t drive = scan->source ? scan->source - 1 : DRIVE_OFF;
    uint8_t sink = scan->sink && scan->sink != LINE_30 ? (uint8_t)((scan->sink - 1) << 4) : SINK_OFF;
    note_on(); // before, for a reset may come at any moment
    bool connected = ports_write(drive | sink, COIL_RELAYS | (look ? look - 1 : 0));
    note_on(); // connected or not
    return connected;
}

// Volts of one terminal; terminal 30 is ground here.
static enum result look_at(const struct scan_request *scan, uint8_t line, int16_t *counts)
{
    if (line == 0 || line == LINE_30) {
        return RESULT_DONE;
    }
    if (!connect(scan, line)) {
        return RESULT_BUS;
    }
    enum result result = work_wait(1);
    return result == RESULT_DONE ? ads_convert(PART_ADS1115_SCAN, ADS_LOOK, LOOK_GAIN, counts) : result;
}

static enum result scan_full(const struct scan_request *scan, struct seen *seen)
{
    if (scan->source == LINE_30 || scan->weak) {
        return RESULT_BUILD;
    }
    enum result result = connect(scan, scan->source) ? work_wait(SETTLE_MS) : RESULT_BUS;
    if (result == RESULT_DONE) {
        result = ads_convert(PART_ADS1115_SCAN, ADS_DRIVEN, DRIVE_GAIN, &seen->driven);
    }
    if (result == RESULT_DONE) {
        result = ads_convert(PART_ADS1115_SCAN, ADS_SUNK, SINK_GAIN, &seen->sunk);
    }
    if (result == RESULT_DONE) {
        result = ads_convert(PART_ADS1115_SCAN, ADS_SUPPLY, LOOK_GAIN, &seen->supply);
    }
    if (result == RESULT_DONE) {
        result = look_at(scan, scan->source, &seen->source);
    }
    if (result == RESULT_DONE) {
        result = look_at(scan, scan->sink, &seen->sink);
    }
    if (result == RESULT_DONE) {
        result = look_at(scan, scan->look, &seen->look);
    }
    return rest() ? result : RESULT_BUS;
}

// --- bare build ---

static bool bare_line(uint8_t line)
{
    return line <= LINE_87A || line == LINE_30;
}

static enum result sense(uint8_t line, int16_t *sum)
{
    if (line == 0) {
        return RESULT_DONE;
    }
    uint16_t counts = 0;
    hal_bare_sense(line);
    enum result result = analog_await(&counts);
    *sum = (int16_t)counts;
    return result;
}

static enum result scan_pins(const struct scan_request *scan, struct seen *seen)
{
    if (!bare_line(scan->source) || !bare_line(scan->sink) || !bare_line(scan->look)) {
        return RESULT_BUILD;
    }
    hal_bare_drive(scan->source, scan->sink, scan->weak);
    enum result result = work_wait(SETTLE_MS);
    if (result == RESULT_DONE) {
        result = sense(scan->source, &seen->source);
    }
    if (result == RESULT_DONE) {
        result = sense(scan->sink, &seen->sink);
    }
    if (result == RESULT_DONE) {
        result = sense(scan->look, &seen->look);
    }
    hal_bare_drive(0, 0, false);
    work_wait(COLLAPSE_MS); // before the next scan opens a pin under the coil's current
    return result;
}

// --- evening build ---

// The guard's limit for the look ends it at once where K1 feeds the coil all the same.
static enum result scan_coil(const struct scan_request *scan, struct seen *seen)
{
    if (scan->source != LINE_86 || scan->sink != LINE_85 || scan->look || scan->weak) {
        return RESULT_BUILD;
    }
    enum result result = work_wait(K1_OPENS_MS);
    if (result == RESULT_DONE && !guard_look()) {
        result = RESULT_TRIPPED;
    }
    if (result == RESULT_DONE) {
        result = work_wait(SETTLE_MS);
    }
    if (result == RESULT_DONE) {
        result = ina_convert(INA_AVERAGED, &seen->source, &seen->driven);
    }
    guard_all_off();
    return result;
}

// --- all ---

// The coil's supply and the dry sources would be seen as well.
static enum result quiet(void)
{
    if (hal_outputs_now() & (OUT_COIL | OUT_BRANCHES | OUT_THROWS)) {
        return RESULT_ENERGISED;
    }
    guard_all_off();
    return dac_rests() || dac_write(0) ? RESULT_DONE : RESULT_BUS;
}

static enum result scan_now(const struct scan_request *scan, struct seen *seen)
{
    if (hal_bare() && scan->source != 0 && scan->source == scan->sink) {
        return RESULT_ARGUMENT; // one pin cannot be both
    }
    if (hal_bare()) {
        return scan_bare() ? scan_pins(scan, seen) : RESULT_BUILD;
    }
    enum result result = quiet();
    if (result == RESULT_DONE) {
        result = build_admits();
    }
    if (result != RESULT_DONE) {
        return result;
    }
    return build_evening() ? scan_coil(scan, seen) : scan_full(scan, seen);
}

enum result handle_scan(const union request *request)
{
    const struct scan_request scan = request->scan;
    struct seen seen = {0};
    if (!work_begin(ID_SCAN)) {
        return RESULT_BUSY;
    }
    enum result result = scan_now(&scan, &seen);
    work_finish();
    if (result == RESULT_DONE) {
        answer_scan(seen.driven, seen.sunk, seen.source, seen.sink, seen.look, seen.supply);
    }
    return result;
}

enum result handle_make_bare(const union request *request)
{
    (void)request;
    enum result result = identity_may_write();
    if (result != RESULT_DONE) {
        return result;
    }
    if (answers() || !hal_bus_free() || hal_stop_closed()) {
        return RESULT_BUILD;
    }
    identity_forget_full();
    return RESULT_DONE;
}
