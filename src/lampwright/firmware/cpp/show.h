// This show's own numbers. Times are in frames of @{frame_ms} ms.
#pragma once

#include <stdint.h>

// Pixels of all runs, one after the other:
@{run_table}
constexpr uint16_t n_pixel = @{n_pixel};
constexpr uint8_t bytes_per_pixel = 3;
constexpr uint16_t frame_bytes = n_pixel * bytes_per_pixel;

// Place of each colour among a pixel's three bytes on the line (@{order}).
constexpr uint8_t red_byte = @{red_byte};
constexpr uint8_t green_byte = @{green_byte};
constexpr uint8_t blue_byte = @{blue_byte};

constexpr uint32_t frame_ms = @{frame_ms};

// From power-on to the show: @{standby_text}.
constexpr uint32_t standby_frames = @{standby_frames};

// One pass through the cue sheet: @{pass_text}.
constexpr uint32_t pass_frames = @{pass_frames};

// What comes after the first pass.
enum class Ending { repeat, hold, dark };
constexpr Ending ending = Ending::@{ending};

// Current of one channel at full drive (code 255), in units of 10 uA: @{weights_text}.
constexpr uint32_t red_weight = @{red_weight};
constexpr uint32_t green_weight = @{green_weight};
constexpr uint32_t blue_weight = @{blue_weight};

// Most that a frame may draw for light: @{cap_text}, in units of 10 uA / 255.
// This is what the pack can carry. Raise it and the pack may switch off in mid-show or overheat.
constexpr uint32_t load_cap = @{load_cap};

// The frame being made, as it goes out on the line.
extern uint8_t frame[frame_bytes];

// Fills the frame for a frame number counted from power-on.
void compose(uint32_t number);
