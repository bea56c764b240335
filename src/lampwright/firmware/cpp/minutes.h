// The show's minute, kept in EEPROM through a loss of power.
#pragma once

#include <stdint.h>

// Finds the newest entry. Call once, before the functions below.
void read_minutes();

// Returns the frame with which the kept minute begins, or 0 when there is none to go on with.
uint32_t frame_of_kept_minute();

// Makes the next power-on begin a new countdown. Waits for the EEPROM, @{forget_ms} ms.
void forget_minutes();

// Tells with which frame the show goes on, so that its next full minute is the first to be kept.
void count_minutes_from(uint32_t number);

// Keeps each full minute. Call once a frame: it never waits.
void keep_minute(uint32_t number);
