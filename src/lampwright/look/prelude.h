// The smaller and the larger of two values.
template <typename T> static inline T least(T a, T b) { return a < b ? a : b; }
template <typename T> static inline T most(T a, T b) { return a > b ? a : b; }

// A value without its sign.
template <typename T> static inline T magnitude(T a) { return a < 0 ? (T)-a : a; }

// Floor of a quotient; C++ itself rounds toward zero.
static inline int32_t floor_divide(int32_t a, int32_t b)
{
    const int32_t quotient = a / b;
    return quotient * b > a ? quotient - 1 : quotient;
}

// A curve kept as 256 values and the step from each to the next: the high byte of the phase
// picks the value, the low byte goes that far along the step.
static inline int16_t curve(const int16_t *values, const int8_t *steps, uint16_t phase)
{
    const uint8_t index = phase >> 8;
    const int16_t step = (int8_t)pgm_read_byte(&steps[index]);
    return (int16_t)pgm_read_word(&values[index]) + ((step * (int16_t)(uint8_t)phase) >> 8);
}

// The upper 16 bits of a product of two 16-bit values. The compiler's own way goes through a
// 32-bit product and takes three times as long; both give the same bits.
static inline uint16_t high_product(uint16_t a, uint16_t b)
{
#ifdef __AVR_HAVE_MUL__
    uint16_t high;
    uint8_t middle;
    asm("mul %A[a], %A[b] \n\t"
        "mov %[middle], r1 \n\t"
        "mul %B[a], %B[b] \n\t"
        "movw %A[high], r0 \n\t"
        "mul %A[a], %B[b] \n\t"
        "add %[middle], r0 \n\t"
        "adc %A[high], r1 \n\t"
        "clr r1 \n\t"                // r1 is the compiler's zero; clearing it keeps the carry
        "adc %B[high], r1 \n\t"
        "mul %B[a], %A[b] \n\t"
        "add %[middle], r0 \n\t"
        "adc %A[high], r1 \n\t"
        "clr r1 \n\t"
        "adc %B[high], r1"
        : [high] "=&r"(high), [middle] "=&r"(middle)
        : [a] "r"(a), [b] "r"(b));
    return high;
#else
    return ((uint32_t)a * b) >> 16;
#endif
}

// The same where the first value, or both, may be negative; rounded down.
static inline int16_t high_product_signed(int16_t a, uint16_t b)
{
    return high_product((uint16_t)a, b) - (a < 0 ? b : 0);
}
static inline int16_t high_product_both_signed(int16_t a, int16_t b)
{
    return high_product_signed(a, (uint16_t)b) - (b < 0 ? a : 0);
}

// The upper 16 of the 24 bits of a 16-bit value times a byte.
static inline uint16_t middle_product(uint16_t a, uint8_t b)
{
#ifdef __AVR_HAVE_MUL__
    uint16_t middle;
    asm("mul %A[a], %[b] \n\t"
        "mov %A[middle], r1 \n\t"
        "clr %B[middle] \n\t"
        "mul %B[a], %[b] \n\t"
        "add %A[middle], r0 \n\t"
        "adc %B[middle], r1 \n\t"
        "clr r1"
        : [middle] "=&r"(middle)
        : [a] "r"(a), [b] "r"(b));
    return middle;
#else
    return ((uint32_t)a * b) >> 8;
#endif
}

// From start to end by a weight of 0 to 255; the two weights add up to 255, so 16 bits hold it.
static inline uint16_t blend(uint8_t start, uint8_t end, uint8_t weight)
{
    const uint8_t rest = 255 - weight;
#ifdef __AVR_HAVE_MUL__
    uint16_t sum;
    asm("mul %[start], %[rest] \n\t"
        "movw %A[sum], r0 \n\t"
        "mul %[end], %[weight] \n\t"
        "add %A[sum], r0 \n\t"
        "adc %B[sum], r1 \n\t"
        "clr r1"
        : [sum] "=&r"(sum)
        : [start] "r"(start), [rest] "r"(rest), [end] "r"(end), [weight] "r"(weight));
    return sum;
#else
    return (uint16_t)start * rest + (uint16_t)end * weight;
#endif
}

// One bump or dip of a noise: from a cell's shuffled number to the next cell's.
static inline uint16_t bump(const uint8_t *shuffle, uint8_t cell, uint8_t weight)
{
#ifdef __AVR__
    const uint16_t pair = pgm_read_word(&shuffle[cell]);
    return blend(pair, pair >> 8, weight);
#else
    return blend(shuffle[cell], shuffle[cell + 1], weight);
#endif
}

// 16 bits that look unrelated to the 16 bits they are made from.
static inline uint16_t scramble(uint16_t value)
{
    value ^= value >> 8;
    value = 1u * value * 0x9E3B;
    value ^= value >> 8;
    value = 1u * value * 0x6A8D;
    return value ^ (value >> 8);
}
