// Arithmetic of the looks, exact to the last bit.
#pragma once

#include <avr/pgmspace.h>
#include <stdint.h>

@{functions}
