// The show clock: frames since power-on, kept where a reset doesn't reach it.
#pragma once

#include <stdint.h>

// MCUSR as it was at start-up.
extern uint8_t reset_cause;

// Returns the frame to go on with after a reset, or 0: a new countdown.
uint32_t resume_clock();

// Keeps the frame that is being composed, for resume_clock() after a reset.
void keep_clock(uint32_t number);
