// The data line, cycle by cycle.
//
// A pixel reads a bit from how long the line stays high. At @{clock_text} (1 cycle = @{cycle_ns} ns):
//
@{timing_table}
//
// Every bit takes exactly @{period} cycles, also from one byte to the next. Interrupts must be off:
// the shortest would stretch a bit, and a long one would end the frame.
#pragma once

#include <avr/io.h>
#include <stdint.h>

@{pin_structs}
#define PAUSE_1 "nop \n\t"
#define PAUSE_2 "rjmp .+0 \n\t"

// One bit: up; down after @{zero_high} cycles when it is 0 ("sbrs" steps over the first "out" when it
// is 1, in the same time); down for certain after @{one_high} cycles.
#define BIT_UP_TO_ONE_FALLS(bit, pause_in_one)                                      \
    "out %[port], %[high] \n\t"                             /* 1 */                 \
@{zero_row}
    "sbrs %[byte], " #bit " \n\t"                           /* 1, or 2 */           \
    "out %[port], %[low] \n\t"                              /* 1, or 0 */           \
@{pause_in_one_row}
    "out %[port], %[low] \n\t"                              /* 1 */

#define BIT(bit)                                                                    \
@{bit_row}
@{low_row}

// The last bit of a byte uses its pauses to fetch the next byte and to count.
#define LAST_BIT                                                                    \
@{last_bit}

// Sends bytes, the most significant bit first. Call with interrupts off. After the last byte one
// more is fetched and not used.
template <class Pin>
static void send_run(const uint8_t *bytes, uint16_t count)
{
    const uint8_t high = _SFR_IO8(Pin::port) | 1 << Pin::bit;
    const uint8_t low = high ^ 1 << Pin::bit;
    uint8_t byte = *bytes++;
    asm volatile(
        "1: \n\t"
        BIT(7) BIT(6) BIT(5) BIT(4) BIT(3) BIT(2) BIT(1) LAST_BIT
        "2: \n\t"
        : [byte] "+r"(byte), [next] "+e"(bytes), [count] "+@{count_class}"(count)
        : [port] "I"(Pin::port), [high] "r"(high), [low] "r"(low)
        : "cc", "memory");
}
