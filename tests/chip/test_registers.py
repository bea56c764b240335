"""Whether what the chip does not model ends the run by name, and what start-up code needs is let through."""

from __future__ import annotations

import re

import pytest

from lampwright.chip import BenchStoppedError, EmulatedChip
from tests.chip.assembler import CLOCK_HZ, chip_with


@pytest.mark.parametrize(
    ("program", "message"),
    [
        (
            "lds r16, ADCL",
            "the program reads ADCL (0x78), which is not modelled (at flash byte 0x0000, cycle 0)",
        ),
        (
            "put UDR0, 65",
            "the program writes 0x41 to UDR0 (0xc6), which is not modelled (at flash byte 0x0002, cycle 1)",
        ),
        (
            "nop\n put TCCR2B, 3",
            "the program writes 0x03 to TCCR2B (0xb1), which is not modelled (at flash byte 0x0004, cycle 2)",
        ),
        (
            "put TCCR0B, 6",  # clocked from a pin
            "the program writes 0x06 to TCCR0B (0x45), which is not modelled (at flash byte 0x0002, cycle 1)",
        ),
        (
            "put TCCR0A, 3",  # pulse width
            "the program writes 0x03 to TCCR0A (0x44), which is not modelled (at flash byte 0x0002, cycle 1)",
        ),
        (
            "put PRR, 0x20\n put TCCR0B, 3",
            "the program uses TCCR0B (0x45) while PRR switches Timer0 off (at flash byte 0x0008, cycle 4)",
        ),
        (
            "put TCCR0B, 3\n put PRR, 0x20",
            "the program writes 0x20 to PRR (0x64), which is not modelled (at flash byte 0x0008, cycle 4)",
        ),
        (
            "put TCCR1B, 7",
            "the program writes 0x07 to TCCR1B (0x81), which is not modelled (at flash byte 0x0002, cycle 1)",
        ),
        (
            "put TIMSK1, 0x20",
            "the program writes 0x20 to TIMSK1 (0x6f), which is not modelled (at flash byte 0x0002, cycle 1)",
        ),
        (
            "put CLKPR, 0x80\n put CLKPR, 1",
            "the program writes 0x01 to CLKPR (0x61), which is not modelled (at flash byte 0x0008, cycle 4)",
        ),
        (
            "put MCUCR, 1",
            "the program writes 0x01 to MCUCR (0x55), which is not modelled (at flash byte 0x0002, cycle 1)",
        ),
        (
            "lds r0, 0xff",
            "the program reads 0x00ff, where this chip has nothing, which is not modelled "
            "(at flash byte 0x0000, cycle 0)",
        ),
        (
            "sts 0x900, r0",
            "the program uses data address 0x0900, where this chip has nothing (at flash byte 0x0000, cycle 0)",
        ),
        (
            "in r16, IO(PINB)",
            "the program reads PINB (0x23) while nothing drives its bits 0, 1, 2, 3, 4, 5 "
            "(at flash byte 0x0000, cycle 0)",
        ),
        (
            "sbic IO(PIND), 2",
            "the program reads PIND (0x29) while nothing drives its bits 2 (at flash byte 0x0000, cycle 0)",
        ),
        (
            "put PRR, 8\n lds r0, TCNT1L",
            "the program uses TCNT1L (0x84) while PRR switches Timer1 off (at flash byte 0x0006, cycle 3)",
        ),
        (
            "ldi r16, 0\n out IO(SPH), r16\n push r16",
            "the stack left RAM: its pointer was 0x00ff (at flash byte 0x0004, cycle 2)",
        ),
        ("pop r16", "the stack left RAM: its pointer was 0x0900 (at flash byte 0x0000, cycle 0)"),
        ("ret", "the stack left RAM: its pointer was 0x0900 (at flash byte 0x0000, cycle 0)"),
        ("nop", "the program ran into erased flash (at flash byte 0x0002, cycle 1)"),
        ("jmp 0x8000", "the program ran beyond the flash (at flash byte 0x8000, cycle 3)"),
        (
            ".word 0xcfce",  # rjmp .-100
            "the program ran beyond the flash (at flash byte 0x8000, cycle 2)",
        ),
        (
            ".word 0x940d, 0x1234",  # jmp 0x22468
            "the program ran beyond the flash (at flash byte 0x8000, cycle 3)",
        ),
        (
            "ldi r30, 0\n ldi r31, 0x80\n lpm",
            "the program reads flash byte 0x8000, beyond the flash (at flash byte 0x0004, cycle 2)",
        ),
        ("break", "the program reached BREAK, which hands over to a debugger (at flash byte 0x0000, cycle 0)"),
        ("spm", "the program writes its own flash (SPM), which is not modelled (at flash byte 0x0000, cycle 0)"),
        (
            ".word 0xffff, 0x0001",
            "the program ran into erased flash (at flash byte 0x0000, cycle 0)",
        ),
        (
            ".word 0x0001",
            "the program reached something that is no defined instruction of this chip (at flash byte 0x0000, cycle 0)",
        ),
        (
            ".word 0x91a0 + 0xd",  # ld r26, X+
            "the program reached something that is no defined instruction of this chip (at flash byte 0x0000, cycle 0)",
        ),
        (
            "put SMCR, 9\n sleep",  # a mode that the datasheet keeps back
            "the program writes 0x09 to SMCR (0x53), which is not modelled (at flash byte 0x0006, cycle 3)",
        ),
    ],
)
def test_what_is_not_modelled_ends_the_run_by_name(program: str, message: str) -> None:
    chip = chip_with(program)
    with pytest.raises(BenchStoppedError, match=f"^{re.escape(message)}$"):
        chip.run(100)
    with pytest.raises(BenchStoppedError, match=f"^{re.escape(message)}$"):
        chip.run(200)


def test_start_up_code_may_switch_everything_off() -> None:
    chip = chip_with("""
        put PRR, 0xe7
        put ACSR, 0x80
        put DIDR0, 0x3f
        put DIDR1, 0x03
        put ADCSRA, 0
        put UCSR0B, 0
        put TIMSK0, 0
        put TCCR0B, 0
        put TIFR0, 7
        put SPCR, 0
        put TWCR, 0
        put EIMSK, 0
        put PCICR, 0
        put SPMCSR, 0
        put CLKPR, 0x80
        put CLKPR, 0
        put MCUCR, 0
        put TCCR1A, 0
        put PORTB, 0xff
        put GPIOR2, 0xa5
        lds r16, GPIOR2
        lds r17, UCSR0A
        lds r18, ACSR
        in r19, IO(PINB)
        rjmp .-2
    """)
    chip.run(200)
    # UDRE0 is set after a reset; the pins with the crystal read low
    assert list(chip.memory[16:20]) == [0xA5, 0x20, 0x80, 0x3F]


def test_a_pin_reads_back_one_cycle_after_it_was_written() -> None:
    chip = chip_with("""
        ldi r16, 0xff
        out IO(DDRD), r16
        out IO(PORTD), r16
        in r17, IO(PIND)
        in r18, IO(PIND)
        rjmp .-2
    """)
    chip.run(10)
    assert (chip.memory[17], chip.memory[18]) == (0, 0xFF)


def test_a_one_written_to_pin_toggles_that_bit_only() -> None:
    chip = chip_with("""
        ldi r16, 0x0f
        out IO(PORTD), r16
        sbi IO(PIND), 0
        ldi r16, 0x30
        out IO(PIND), r16
        cbi IO(PIND), 1
        in r17, IO(PORTD)
        rjmp .-2
    """)
    chip.run(20)
    assert chip.memory[17] == 0x3E


EEPROM_WRITE = """
    put EEARL, 5
    put EEARH, 1
    put EEDR, 0x77
    ldi r16, 0
    sbi IO(EECR), EEMPE
    sbi IO(EECR), EEPE
wait:
    sbic IO(EECR), EEPE
    rjmp wait
    put EEDR, 0
    sbi IO(EECR), EERE
    in r16, IO(EEDR)
    rjmp .-2
"""


def test_an_eeprom_write_takes_its_time_and_then_reads_back() -> None:
    chip = chip_with(EEPROM_WRITE)
    started = 9 + 1 + 2 + 2
    # the core halts for two cycles and then polls every three until 3.4 ms have passed; the read halts it for four
    chip.run(started + 54_400 - 1)
    assert chip.memory[16] == 0
    chip.run(started + 54_400 + 3 + 2 + 3 + 2 + 4 + 1 + 3)
    assert chip.memory[16] == 0x77
    assert chip.eeprom[0x105] == 0x77
    assert chip.eeprom.count(0xFF) == 1023


def test_an_eeprom_write_without_its_timed_sequence_does_nothing() -> None:
    chip = chip_with(EEPROM_WRITE.replace("sbi IO(EECR), EEPE", "nop\n nop\n nop\n sbi IO(EECR), EEPE"))
    chip.run(1000)
    assert chip.eeprom == b"\xff" * 1024


def test_an_eeprom_address_changed_during_a_write_ends_the_run() -> None:
    chip = chip_with(EEPROM_WRITE.replace("wait:", "put EEARL, 6\nwait:"))
    with pytest.raises(BenchStoppedError) as stopped:
        chip.run(1000)
    assert str(stopped.value) == (
        "the program uses EEARL (0x41) while an EEPROM write is going on (at flash byte 0x001a, cycle 17)"
    )


def test_the_eeprom_can_be_filled_beforehand() -> None:
    chip = chip_with("put EEARL, 1\n put EEARH, 0\n sbi IO(EECR), EERE\n in r16, IO(EEDR)\n rjmp .-2")
    assert chip.eeprom[1] == 0xFF
    chip = EmulatedChip(bytes.fromhex("81e0") + bytes(0), CLOCK_HZ, [], eeprom=b"\x01\x02")
    assert chip.eeprom[:3] == b"\x01\x02\xff"


@pytest.mark.parametrize(
    ("firmware", "settings", "message"),
    [
        (bytes(32769), {}, "firmware of 32769 bytes does not fit into 32768"),
        (b"", {"eeprom": bytes(1025)}, "EEPROM image of 1025 bytes does not fit into 1024"),
        (
            b"",
            {"chip": "attiny85"},
            'only "atmega328p", "atmega2560", "atmega32u4" can be emulated, not "attiny85"',
        ),
    ],
)
def test_what_does_not_fit_the_chip_is_refused(firmware: bytes, settings: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        EmulatedChip(firmware, CLOCK_HZ, [], **settings)  # type: ignore[arg-type]
