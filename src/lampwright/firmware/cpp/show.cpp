// Standby, cue sheet, fades and current limiter.

#include "show.h"

#include "arithmetic.h"

#include <avr/pgmspace.h>
#include <string.h>

uint8_t frame[frame_bytes];

// In a fade, looks mix their codes into what is in the frame; else they replace it.
static bool is_mixing;
static uint8_t share_of_new;                              // in 1/256

// A product of two bytes, in one instruction; plain "a * b" would be a signed 16-bit product,
// which 255 * 255 overflows.
static inline uint16_t product(uint8_t a, uint8_t b)
{
    return static_cast<uint16_t>(a) * b;
}

// Returns old + (new - old) * share / 256, rounded down: old * (256 - share) + new * share, of
// which blend() takes 255 parts.
static inline uint8_t mix(uint8_t old_code, uint8_t new_code)
{
    return (blend(old_code, new_code, share_of_new) + old_code) >> 8;
}

// Gives pixel i its codes. Every look calls this once for each pixel.
static inline __attribute__((always_inline)) void put(uint16_t i, uint8_t red, uint8_t green, uint8_t blue)
{
    uint8_t *pixel = frame + bytes_per_pixel * i;
    if (is_mixing) {
        red = mix(pixel[red_byte], red);
        green = mix(pixel[green_byte], green);
        blue = mix(pixel[blue_byte], blue);
    }
    pixel[red_byte] = red;
    pixel[green_byte] = green;
    pixel[blue_byte] = blue;
}

#include "looks.h"

struct Cue {
    void (*look)(uint32_t t);                             // t counts from the cue's start
    uint32_t start;                                       // within the pass
    uint32_t length;
    uint32_t fade;                                        // from what came before, within the length
};

constexpr uint8_t n_cue = @{n_cue};
static const Cue cues[n_cue] PROGMEM = {
@{cue_rows}
};

// Pixels that count the minutes left in standby, and their colour.
constexpr uint16_t n_indicator = @{n_indicator};
static const uint16_t indicator[n_indicator] PROGMEM = {
@{indicator_rows}
};
constexpr uint8_t indicator_red = @{indicator_red};
constexpr uint8_t indicator_green = @{indicator_green};
constexpr uint8_t indicator_blue = @{indicator_blue};

static Cue read_cue(uint8_t index)
{
    Cue cue;
    memcpy_P(&cue, &cues[index], sizeof cue);
    return cue;
}

static void go_dark()
{
    memset(frame, 0, frame_bytes);
}

// The countdown: one pixel for each minute left, lit for the first half of each second.
static void compose_standby(uint32_t number)
{
    go_dark();
    if (number * frame_ms % 1000 >= 500) {
        return;
    }
    const uint32_t minutes_left = ((standby_frames - number) * frame_ms + 59999) / 60000;
    for (uint16_t i = 0; i < n_indicator && i < minutes_left; ++i) {
        put(pgm_read_word(&indicator[i]), indicator_red, indicator_green, indicator_blue);
    }
}

// n counts from the end of standby.
static void compose_show(uint32_t n)
{
    uint32_t r = n;                                       // time within the pass
    bool is_repeat = false;
    if (n >= pass_frames) {
        switch (ending) {
        case Ending::dark:
            go_dark();
            return;
        case Ending::hold:
            r = pass_frames - 1;
            break;
        case Ending::repeat:
            r = n % pass_frames;
            is_repeat = true;
        }
    }
    uint8_t index = n_cue - 1;
    while (index > 0 && pgm_read_dword(&cues[index].start) > r) {
        --index;
    }
    const Cue cue = read_cue(index);
    const uint32_t t = r - cue.start;
    if (t >= cue.fade) {
        cue.look(t);
        return;
    }
    if (index > 0 || is_repeat) {
        const Cue before = read_cue(index > 0 ? index - 1 : n_cue - 1);
        before.look(before.length + t);
    } else {
        go_dark();
    }
    share_of_new = t * 256 / cue.fade;
    is_mixing = true;
    cue.look(t);
    is_mixing = false;
}

// Returns what the frame would draw: the sum of codes times weights.
static uint32_t weigh()
{
    uint32_t red_sum = 0;
    uint32_t green_sum = 0;
    uint32_t blue_sum = 0;
    const uint8_t *pixel = frame;
    uint16_t left = n_pixel;
    while (left > 0) {
        // 255 pixels at a time: their sums fit 16 bits, which is quicker than 32.
        const uint8_t block = left < 255 ? left : 255;
        uint16_t red = 0;
        uint16_t green = 0;
        uint16_t blue = 0;
        for (uint8_t i = block; i > 0; --i) {
            red += pixel[red_byte];
            green += pixel[green_byte];
            blue += pixel[blue_byte];
            pixel += bytes_per_pixel;
        }
        red_sum += red;
        green_sum += green;
        blue_sum += blue;
        left -= block;
    }
    return red_sum * red_weight + green_sum * green_weight + blue_sum * blue_weight;
}

// Dims the whole frame when it would draw more than the cap.
static void limit()
{
    const uint32_t load = weigh();
    if (load <= load_cap) {
        return;
    }
    const uint8_t scale = load_cap / ((load >> 8) + 1);
    for (uint8_t *code = frame; code < frame + frame_bytes; ++code) {
        *code = product(*code, scale) >> 8;
    }
}

void compose(uint32_t number)
{
    if (number < standby_frames) {
        compose_standby(number);
    } else {
        compose_show(number - standby_frames);
    }
    limit();
}
