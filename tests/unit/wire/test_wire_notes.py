"""A calibration in a board's EEPROM: it comes back as it went, and what is damaged comes back as nothing."""

import struct
from binascii import crc_hqx
from datetime import UTC, datetime

import pytest
from calibrated import calibrate_virtual
from gains import u_gain

from pulldrop.measure.calibrate.reach import reach
from pulldrop.model.bench.calibration import COIL_COMMON, Calibration, Share, nominal
from pulldrop.wire import notes
from pulldrop.wire.notes import KeptNote, NotesError, pack, unpack

BLANK = b"\xff" * notes.ROOM


@pytest.fixture(scope="module")
def taken() -> Calibration:
    return calibrate_virtual(5).model_copy(update={"taken_at": datetime(2026, 5, 4, 9, 0, 30, 250_000, tzinfo=UTC)})


@pytest.fixture(scope="module")
def record(taken: Calibration) -> bytes:
    return pack(taken, ())


def kept(data: bytes) -> KeptNote:
    found = unpack(data)
    assert found is not None
    return found


def in_eeprom(record: bytes) -> bytes:
    """As a board gives it: behind the record is what was there before."""
    return record + BLANK[len(record) :]


def test_every_constant_comes_back_to_float32(taken: Calibration, record: bytes) -> None:
    found = kept(in_eeprom(record)).calibration
    assert (found.board_serial, found.simulated, found.calibrated) == (5, True, True)
    assert found.taken_at == datetime(2026, 5, 4, 9, 0, 30, tzinfo=UTC)
    for name in notes.CHANNELS:
        before, after = getattr(taken, name), getattr(found, name)
        assert (after.gain, after.zero) == pytest.approx((before.gain, before.zero), rel=1e-6)
        assert (u_gain(after), after.u_zero) == pytest.approx((u_gain(before), before.u_zero), rel=1e-6)
    for name in notes.CONSTANTS:
        assert getattr(found, name) == pytest.approx(getattr(taken, name), rel=1e-6)


def test_what_the_bench_reaches_is_the_same_so_common_causes_still_cancel(taken: Calibration, record: bytes) -> None:
    before, after = reach(taken), reach(kept(record).calibration)
    # the causes that only one channel has are one of the nearest shape, which moves k a little
    assert [one.expanded for one in after] == pytest.approx([one.expanded for one in before], rel=1e-3)


def test_causes_of_several_channels_keep_their_names(taken: Calibration, record: bytes) -> None:
    found = kept(record).calibration
    assert {one.name for one in found.drop.shares} == {"ADS1115 gain"}
    assert {one.name for one in found.coil_bus.shares} & {one.name for one in found.coil_shunt.shares} >= {
        "INA226 bus gain", "multimeter volts",
    }  # fmt: skip
    assert COIL_COMMON in {one.name for one in found.coil_shunt.shares}, "readings meet it again"


def test_clips_and_shapes_come_back(taken: Calibration, record: bytes) -> None:
    found = kept(record).calibration
    assert found.clips.shape == taken.clips.shape == "triangular"
    for name in notes.CLIPS:
        assert getattr(found.clips, name) == pytest.approx(getattr(taken.clips, name), rel=1e-6)
    assert {one.shape for one in found.drop.shares} == {"rectangular"}
    assert found.tick.shape == taken.tick.shape == "normal"


def test_a_real_calibration_leaves_room_for_eight_more_named_causes(record: bytes) -> None:
    assert len(record) + 8 * 30 <= notes.ROOM


@pytest.mark.parametrize("left_out", [("coil amps: no resistor was used.",), ("temperature: x.", "clock: y.")])
def test_what_was_left_out_is_known(taken: Calibration, left_out: tuple[str, ...]) -> None:
    assert kept(pack(taken, left_out)).left_out == tuple(one.partition(":")[0] for one in left_out)


def test_memory_that_was_never_written_holds_nothing() -> None:
    assert unpack(BLANK) is None
    assert unpack(b"") is None


@pytest.mark.parametrize("way", [0x01, 0x80, 0xFF])
def test_any_damaged_byte_gives_nothing_but_a_sentence(record: bytes, way: int) -> None:
    for place in range(len(record)):
        data = bytearray(in_eeprom(record))
        data[place] ^= way
        with pytest.raises(NotesError, match=r"damaged and is not used\. Calibrate again"):
            unpack(bytes(data))


@pytest.mark.parametrize("length", range(1, 200, 7))
def test_a_record_cut_short_gives_nothing_but_a_sentence(record: bytes, length: int) -> None:
    for rest in (b"", BLANK[length:], bytes(notes.ROOM - length)):
        with pytest.raises(NotesError, match="damaged"):
            unpack(record[:length] + rest)


@pytest.mark.parametrize("version", [notes.VERSION - 1, notes.VERSION + 1])
def test_a_record_of_another_version_is_told_as_that(record: bytes, version: int) -> None:
    body = bytes([version]) + record[1:-2]
    with pytest.raises(NotesError, match=f"version {version}; this pulldrop knows 3"):
        unpack(body + struct.pack("<H", crc_hqx(body, 0)))


def test_nominal_values_are_not_kept() -> None:
    with pytest.raises(ValueError, match="nominal"):
        pack(nominal(5), ())


def test_a_calibration_too_large_for_the_board_is_refused(taken: Calibration) -> None:
    many = tuple(Share(name=f"an invented cause, number {i}", u=1e-4, why="") for i in range(30))
    channel = taken.coil_bus.model_copy(update={"shares": many})
    with pytest.raises(NotesError, match="room for 768"):
        pack(taken.model_copy(update={"coil_bus": channel, "coil_shunt": channel}), ())
