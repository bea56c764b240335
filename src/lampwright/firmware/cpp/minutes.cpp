// The show's minute, kept in EEPROM through a loss of power.
//
// Once a minute an entry goes to the next place of a ring of @{n_entry}, over the one that is oldest. Until
// its last byte is written it isn't whole, and the entry before it holds. No cell is written more
// often than once in @{n_entry} minutes.
//
// Nothing here can know how long the dark lasted: no clock runs without power.

#include "minutes.h"

#include "show.h"

#include <avr/interrupt.h>
#include <avr/io.h>

struct Entry {
    uint16_t sequence;                                    // counts all entries; its place is sequence % n_entry
    uint16_t minute;                                      // full minutes since the countdown began; 0: start anew
    uint32_t check;
};

constexpr uint16_t n_entry = @{n_entry};
static_assert((n_entry & (n_entry - 1)) == 0, "places stay the same when the sequence starts over");

// Marks this show's entries: another show's, or noise, won't pass for them.
constexpr uint32_t show_mark = @{show_mark};

// The evening is over then, @{over_text} after switching on: a later power-on begins a new countdown.
constexpr uint16_t over_minute = @{over_minute};

static uint16_t sequence;                                 // of the newest entry, written or being written
static uint16_t minute;
static uint8_t n_left;                                    // bytes of it still to be written
static uint16_t reached;                                  // minute up to which entries have been seen to

static uint32_t check_of(uint16_t of_sequence, uint16_t of_minute)
{
    uint32_t mixed = ((static_cast<uint32_t>(of_sequence) << 16 | of_minute) ^ show_mark) * 0x9e3779b1;
    mixed ^= mixed >> 16;
    mixed *= 0x7feb352d;
    return mixed ^ mixed >> 16;
}

static void wait_for_eeprom()
{
    while (EECR & 1 << EEPE) {
    }
}

static uint8_t read_cell(uint16_t address)
{
    EEAR = address;
    EECR |= 1 << EERE;
    return EEDR;
}

// Begins to write a cell, which takes 3.4 ms; one that holds the value already is spared.
static void write_cell(uint16_t address, uint8_t value)
{
    if (read_cell(address) == value) {
        return;
    }
    EEDR = value;
    const uint8_t flags = SREG;
    cli();                                                // the second must follow within four cycles
    EECR = 1 << EEMPE;
    EECR |= 1 << EEPE;
    SREG = flags;
}

static Entry read_entry(uint16_t place)
{
    Entry entry;
    uint8_t *bytes = reinterpret_cast<uint8_t *>(&entry);
    for (uint8_t i = 0; i < sizeof entry; ++i) {
        bytes[i] = read_cell(place * sizeof entry + i);
    }
    return entry;
}

void read_minutes()
{
    wait_for_eeprom();                                    // a byte begun before a reset is finished after it
    bool is_found = false;
    for (uint16_t place = 0; place < n_entry; ++place) {
        const Entry entry = read_entry(place);
        const bool is_whole =
            entry.check == check_of(entry.sequence, entry.minute) && entry.sequence % n_entry == place;
        if (is_whole && (!is_found || static_cast<int16_t>(entry.sequence - sequence) > 0)) {
            sequence = entry.sequence;
            minute = entry.minute;
            is_found = true;
        }
    }
    if (!is_found) {
        sequence = 0xffff;                                // the first entry gets 0
    }
}

// Rounded up: by then the minute is full.
static uint32_t first_frame_of(uint32_t full_minutes)
{
    return (full_minutes * 60000 + frame_ms - 1) / frame_ms;
}

uint32_t frame_of_kept_minute()
{
    return first_frame_of(minute);
}

static void begin_entry(uint16_t new_minute)
{
    ++sequence;
    minute = new_minute;
    n_left = sizeof(Entry);
}

static void write_next_byte()
{
    const Entry entry = {sequence, minute, check_of(sequence, minute)};
    const uint8_t *bytes = reinterpret_cast<const uint8_t *>(&entry);
    const uint8_t i = sizeof entry - n_left;
    write_cell(sequence % n_entry * sizeof entry + i, bytes[i]);
    --n_left;
}

void forget_minutes()
{
    if (minute == 0) {
        return;
    }
    begin_entry(0);
    while (n_left > 0) {
        write_next_byte();
        wait_for_eeprom();
    }
}

void count_minutes_from(uint32_t number)
{
    // one short of the end at most, so that the end is seen to even if a reset fell into it
    reached = number < first_frame_of(over_minute) ? number * frame_ms / 60000 : over_minute - 1;
}

void keep_minute(uint32_t number)
{
    if (n_left > 0) {
        if (!(EECR & 1 << EEPE)) {
            write_next_byte();
        }
        return;
    }
    if (reached == over_minute || number < first_frame_of(reached + 1)) {
        return;
    }
    ++reached;
    const uint16_t wanted = reached < over_minute ? reached : 0;
    if (wanted != minute) {
        begin_entry(wanted);
    }
}
