// The show clock: frames since power-on, kept where a reset doesn't reach it.

#include "clock.h"

@{include_minutes}#include <avr/io.h>

// Start-up code clears variables, but not those in .noinit. They keep their value through every
// reset in which the supply lasts, and hold noise after power-on.
#define KEPT_THROUGH_RESET __attribute__((section(".noinit")))

uint8_t reset_cause KEPT_THROUGH_RESET;

struct KeptTime {
    uint32_t number;
    uint32_t check;
};

// Two slots, written in turn: a reset in the middle of writing one leaves the other whole.
static volatile KeptTime kept[2] KEPT_THROUGH_RESET;
static uint8_t next_slot;

// Marks this show's slots: another show's, or noise, won't pass for them.
constexpr uint32_t show_mark = @{show_mark};

// Frames that went by unseen when the watchdog had to reset the chip. It bites @{watchdog_ms} ms after the
// last feeding (@{write_ms} ms after a tick, when the pixels had been written) and the crystal then
// takes @{startup_ms} ms to start: @{lost_ms} ms, at @{frame_ms} ms a frame. The watchdog's own oscillator is only
// good for about 10 %, so the show may be out by a frame or two.
constexpr uint32_t lost_to_watchdog = @{lost_to_watchdog};

// Every bit of the number changes about half of the check word, so that RAM spoiled alike in both
// is noticed too; a plain complement would let that pass.
static uint32_t check_of(uint32_t number)
{
    uint32_t mixed = (number ^ show_mark) * 0x9e3779b1;
    mixed ^= mixed >> 16;
    mixed *= 0x7feb352d;
    return mixed ^ mixed >> 16;
}

// A dip of the supply may come just after the tick or just before the next one: half of the times, told
// by the number itself, the frame that was being composed is taken as gone. Always would push the show
// ahead when a sagging supply resets the chip many times within a frame or two.
static uint32_t lost_to_dip(uint32_t number)
{
    return check_of(number) & 1;
}

static bool is_whole(const volatile KeptTime &slot)
{
    return slot.check == check_of(slot.number);
}

@{frame_without_kept_clock}

uint32_t resume_clock()
{
@{power_on_meaning}
    // Watchdog and brown-out resume. No cause at all is what a boot loader leaves behind after
    // clearing it: resume too, if a slot is whole (with such a loader, the reset button doesn't
    // start a new countdown).
    const bool is_new = @{is_new};
    const bool is_first_whole = is_whole(kept[0]);
    const bool is_second_whole = is_whole(kept[1]);
    if (is_new || !(is_first_whole || is_second_whole)) {
        kept[0].check = ~check_of(kept[0].number);        // never whole
        kept[1].check = ~check_of(kept[1].number);
        return frame_without_kept_clock();
    }
    uint32_t number = is_first_whole ? kept[0].number : kept[1].number;
    if (is_second_whole && kept[1].number > number) {
        number = kept[1].number;
    }
    const bool is_dip = reset_cause & (1 << BORF | 1 << PORF);
    return number + (is_dip ? lost_to_dip(number) : lost_to_watchdog);
}

void keep_clock(uint32_t number)
{
    volatile KeptTime &slot = kept[next_slot];
    slot.number = number;
    slot.check = check_of(number);
    next_slot ^= 1;
}
