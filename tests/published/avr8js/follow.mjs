/* Runs a whole firmware on the second reference emulator and tells its state every so many instructions.
 *
 * Arguments: first RAM address, bytes of RAM, bytes of flash, image file (flash bytes from 0), flash byte of timer 1's
 *   compare vector, cycles that the chip takes to enter it, further cycles when it comes out of sleep,
 *   instructions to run, instructions between two tellings.
 * Writes for each telling, little-endian: uint32 program counter [flash byte], uint64 cycle, uint16 SP, SREG,
 *   32 general registers, all of RAM.
 *
 * Settled from the chips' datasheets (from memory), beside what settled.mjs does:
 *
 * - "Interrupt Response Time": an interrupt is entered in four cycles, five with a program counter of 22 bits, and four
 *   more out of sleep; there it takes two
 * - "Timer/Counter Prescalers": the prescaler runs free from the reset on; there it starts with the timer. That it stands
 *   at 0 when the program begins is from memory only, and checked by no emulator at hand
 * - "Output Compare Units": a match sets its flag at the next timer clock; there it does so at once
 * - "Reset Sources": a power-on leaves its mark in MCUSR; there is none
 * - SLEEP stops the core until an interrupt comes; there it does nothing
 *
 * An interrupt that meets the core awake ends the program with 6: its moment would not be known.
 */
import { readFileSync, writeSync } from "node:fs";
import { AVRTimer, CPU, timer1Config } from "avr8js";
import { step } from "./settled.mjs";

const PRESCALER = 8; // of timer 1, as the firmware sets it
const SLEEP = 0x9588, SLEEP_CONTROL = 0x53, SLEEP_ENABLED = 0x01;
const RESET_CAUSE = 0x54, POWER_ON = 0x01;
const ENTRY = 2; // cycles that the emulator takes to enter an interrupt

const [ramStart, ram, flashBytes] = process.argv.slice(2, 5).map(Number);
const [vector, entry, waking, nInstruction, between] = process.argv.slice(6).map(Number);
const flash = new Uint8Array(flashBytes).fill(0xff);
flash.set(readFileSync(process.argv[5]));
// the emulator counts RAM from 0x100, wherever the chip's I/O registers end
const cpu = new CPU(new Uint16Array(flash.buffer), ramStart + ram - 0x100);
const timer = new AVRTimer(cpu, { ...timer1Config, compAInterrupt: vector / 2 });

cpu.data[RESET_CAUSE] = POWER_ON;

const head = Buffer.alloc(4 + 8 + 2 + 1);

function give(bytes) {
    for (let done = 0; done < bytes.length; ) done += writeSync(1, bytes, done);
}

function tell() {
    head.writeUInt32LE(2 * cpu.pc, 0);
    head.writeBigUInt64LE(BigInt(cpu.cycles), 4);
    head.writeUInt16LE(cpu.SP, 12);
    head.writeUInt8(cpu.data[0x5f], 14);
    give(head);
    give(cpu.data.subarray(0, 32));
    give(cpu.data.subarray(ramStart));
}

/** Let the timer tick when the chip's would: on multiples of the prescaler, its flags a tick later. */
function putOnThePrescalersTicks() {
    timer.lastCycle += PRESCALER - (timer.lastCycle % PRESCALER);
    cpu.updateClockEvent(timer.count, timer.lastCycle + PRESCALER - cpu.cycles);
}

let isStarted = false;
for (let run = 0; run < nInstruction; ) {
    const isSleep = cpu.progMem[cpu.pc] === SLEEP && cpu.data[SLEEP_CONTROL] & SLEEP_ENABLED;
    step(cpu);
    run++;
    let before = cpu.pc;
    cpu.tick();
    if (!isStarted && timer.divider) {
        isStarted = true;
        putOnThePrescalersTicks();
    }
    if (isSleep) {
        while (cpu.pc === before) {
            cpu.cycles = cpu.nextClockEvent.cycles;
            cpu.tick();
        }
        cpu.cycles += entry + waking - ENTRY;
    } else if (2 * cpu.pc === vector && before !== cpu.pc) {
        process.exit(6);
    }
    if (run % between === 0) tell();
}
