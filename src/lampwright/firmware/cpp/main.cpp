// @{title}: start-up and the frame loop.
//
// Written by lampwright from the piece file. Plain C++14 for avr-gcc and avr-libc, no other
// library. Change what you like and run "make"; FLASHING.md tells how to bring it to the chip.
//
//   main.cpp     start-up, the frame timer, the loop            (this file)
//   clock.h/cpp  the show clock that lives through a reset
@{minutes_listed}//   show.h       this show's own numbers
//   show.cpp     standby, cue sheet, fades, current limiter
//   looks.h      what the pixels show, one function for each look
//   arithmetic.h what those functions compute with
//   sender.h     the data line, cycle by cycle

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "clock.h"
@{include_minutes}#include "sender.h"
#include "show.h"

// Runs first of all, before RAM is set up: data pins low, so that no pixel takes noise for a
// frame; the reason for the reset noted and cleared (while WDRF stands in MCUSR, the watchdog
// can't be changed); and the watchdog set to 250 ms, because after its own reset it is running
// with 16 ms.
extern "C" void start_safely() __attribute__((naked, used, section(".init3")));
void start_safely()
{
@{pins_low}
    reset_cause = MCUSR;
    MCUSR = 0;
    wdt_enable(WDTO_250MS);
}

static void switch_off_what_is_not_used()
{
    // Unused pins get their pull-ups: a floating input draws current.
@{pull_ups}
    ADCSRA = 0;                                           // analogue converter off
    ACSR = 1 << ACD;                                      // analogue comparator off
    // All clocks off but timer 1's:
@{clocks_off}
}

// Ticks of the frame timer that the loop has not yet taken. The loop takes them once a frame
// and the watchdog ends any frame after about 250 ms, so eight bits are enough.
static volatile uint8_t ticks;

ISR(TIMER1_COMPA_vect)
{
    ticks = ticks + 1;
}

// Timer 1 counts the processor's clock divided by @{prescaler} and starts over after each frame:
// @{timer_counts} counts make @{frame_ms} ms. It goes on counting while the line is written with interrupts off,
// and a tick that falls in that time stays pending. Writing all pixels takes @{write_ms} ms, less than
// one frame, so no tick is ever lost and the show keeps the time of the crystal.
constexpr uint16_t timer_counts = @{timer_counts};

static void start_frame_timer()
{
    TCCR1A = 0;
    TCCR1B = 0;
    TCNT1 = 0;
    OCR1A = timer_counts - 1;
    TIFR1 = 1 << OCF1A;
    TIMSK1 = 1 << OCIE1A;
    TCCR1B = 1 << WGM12 | @{clock_select};        // start over at OCR1A; clock / @{prescaler}
}

// Sleeps until the next tick and comes back with interrupts off. Returns the ticks since the
// last call: 1, or more when composing a frame took longer than a frame lasts. The show then
// leaves frames out and keeps its time.
static uint8_t wait_for_tick()
{
    cli();
    const uint8_t missed = ticks;
    while (ticks == missed) {
        // The instruction after "sei" always runs before an interrupt is served, so a tick
        // can't slip in between the question above and falling asleep.
        asm volatile("sei \n\t sleep" ::: "memory");
        cli();
    }
    const uint8_t passed = ticks;
    ticks = 0;
    return passed;
}

int main()
{
    switch_off_what_is_not_used();
    set_sleep_mode(SLEEP_MODE_IDLE);
    sleep_enable();
@{read_minutes}    uint32_t number = resume_clock();
@{count_minutes}    start_frame_timer();
    for (;;) {
        wdt_reset();                                      // the only place that feeds the watchdog
        keep_clock(number);
@{keep_minute}        compose(number);
        const uint8_t passed = wait_for_tick();
@{send_runs}
        sei();
        number += passed;
    }
}
