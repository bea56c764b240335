// A curve kept as 256 values and the step from each to the next: the high byte of the phase
// picks the value, the low byte goes that far along the step.
function curve(values, steps, phase) {
    const index = phase >> 8;
    return values[index] + (steps[index] * (phase & 255) >> 8);
}

// From start to end by a weight of 0 to 255; the two weights add up to 255.
function blend(start, end, weight) {
    return start * (255 - weight) + end * weight;
}

// One bump or dip of a noise: from a cell's shuffled number to the next cell's.
function bump(shuffle, cell, weight) {
    return blend(shuffle[cell], shuffle[cell + 1], weight);
}

// 16 bits that look unrelated to the 16 bits they are made from.
function scramble(value) {
    value ^= value >> 8;
    value = Math.imul(value, 0x9E3B) & 0xFFFF;
    value ^= value >> 8;
    value = Math.imul(value, 0x6A8D) & 0xFFFF;
    return value ^ value >> 8;
}

// 32 bits of a frame number times an increment of 64 bits, from a bit of 16 or higher on. Numbers
// are exact up to 53 bits, so the product is put together from parts of at most 48.
function clock(t, upper, lower, shift) {
    const from_16 = t * (lower >>> 16) + Math.floor(t * (lower & 0xFFFF) / 65536) + (Math.imul(t, upper) >>> 0) * 65536;
    return Math.floor(from_16 / 2 ** (shift - 16)) >>> 0;
}
