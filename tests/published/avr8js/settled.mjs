/* One instruction of the second reference emulator, with its habits settled from the manual.
 *
 * Source: AVR Instruction Set Manual, "Boolean formulas" of each instruction (from memory), for what avr8js 0.21 does
 * otherwise:
 *
 * - H of ADD, ADC, SUB, SUBI, SBC, SBCI, CP, CPC, CPI: the carry out of bit 3; there it is the carry out of bit 0
 * - NEG: H is R3 + Rd3, there it is bit 0; V is set where R is 0x80, there it never is, so that S is wrong too
 * - SBIW leaves H as it is; there it is written
 * - FMULSU: Z is set where the result is 0; there it is the other way round
 * - CBI takes two cycles; there it takes one
 *
 * Nothing else of the reference is touched.
 */
import { avrInstruction } from "avr8js";

const SREG = 0x5f;
const C = 0x01, Z = 0x02, N = 0x04, V = 0x08, S = 0x10, H = 0x20;

const [PLAIN, SUM, DIFFERENCE, DIFFERENCE_IMMEDIATE, NEGATE, PAIR, FRACTION_MIXED, CLEAR_BIT] = Array(8).keys();

/** What is settled about each instruction word, as one of the numbers above. */
const KINDS = Uint8Array.from({ length: 0x10000 }, (_, word) => {
    const top = word & 0xfc00;
    if (top === 0x0c00 || top === 0x1c00) return SUM;
    if ([0x0400, 0x0800, 0x1400, 0x1800].includes(top)) return DIFFERENCE;
    if ([0x3000, 0x4000, 0x5000].includes(word & 0xf000)) return DIFFERENCE_IMMEDIATE;
    if ((word & 0xfe0f) === 0x9401) return NEGATE;
    if ((word & 0xff00) === 0x9700) return PAIR;
    if ((word & 0xff88) === 0x0388) return FRACTION_MIXED;
    if ((word & 0xff00) === 0x9800) return CLEAR_BIT;
    return PLAIN;
});

const source = (word) => (word & 0x0f) | ((word >> 5) & 0x10);

function put(cpu, flag, isSet) {
    cpu.data[SREG] = isSet ? cpu.data[SREG] | flag : cpu.data[SREG] & ~flag;
}

/** Put H where bit 3 of this says so. */
const putHalf = (cpu, bits) => put(cpu, H, (bits >> 3) & 1);

/** Execute one instruction. */
export function step(cpu) {
    const word = cpu.progMem[cpu.pc];
    const kind = KINDS[word];
    if (kind === PLAIN) return avrInstruction(cpu);
    const upper = kind === DIFFERENCE_IMMEDIATE;
    const first = cpu.data[upper ? 16 + ((word >> 4) & 0x0f) : (word >> 4) & 0x1f];
    const second = upper ? (word & 0x0f) | ((word >> 4) & 0xf0) : cpu.data[source(word)];
    const before = cpu.data[SREG];
    avrInstruction(cpu);
    if (kind === SUM) {
        const result = first + second + ((word & 0x1000) && before & C);
        putHalf(cpu, (first & second) | (second & ~result) | (~result & first));
    } else if (kind === DIFFERENCE || kind === DIFFERENCE_IMMEDIATE) {
        // SBC and CPC have bit 12 clear, SUB and CP have it set; of those with a constant, SBCI takes the carry
        const takesCarry = upper ? (word & 0xf000) === 0x4000 : !(word & 0x1000);
        const result = first - second - (takesCarry && before & C);
        putHalf(cpu, (~first & second) | (second & result) | (result & ~first));
    } else if (kind === NEGATE) {
        const result = -first & 0xff;
        putHalf(cpu, result | first);
        put(cpu, V, result === 0x80);
        put(cpu, S, !(cpu.data[SREG] & N) !== !(cpu.data[SREG] & V));
    } else if (kind === PAIR) {
        put(cpu, H, before & H);
    } else if (kind === FRACTION_MIXED) {
        put(cpu, Z, cpu.data[0] === 0 && cpu.data[1] === 0);
    } else {
        cpu.cycles++;
    }
}
