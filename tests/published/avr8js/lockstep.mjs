/* Runs programs on the second reference emulator and prints the state after every instruction.
 *
 * Reads and writes the same as ../lockstep.c, whose head tells what; interrupt vectors are not looked at.
 */
import { readFileSync, writeSync } from "node:fs";
import { CPU } from "avr8js";
import { step } from "./settled.mjs";

/** Where RAM begins and how long it and the flash are, by the datasheets. [byte] */
const CHIPS = {
    atmega328p: { ramStart: 0x100, ram: 2048, flash: 32768 },
    atmega32u4: { ramStart: 0x100, ram: 2560, flash: 32768 },
    atmega2560: { ramStart: 0x200, ram: 8192, flash: 262144 },
};
const STEP_BYTES = 4 + 8 + 2 + 1 + 32;
const input = readFileSync(0);
let at = 0;

function take(size) {
    at += size;
    return input.subarray(at - size, at);
}

function give(bytes) {
    for (let done = 0; done < bytes.length; ) done += writeSync(1, bytes, done);
}

while (at < input.length) {
    const nWord = take(4).readUInt32LE();
    const chip = CHIPS[take(16).toString("latin1").replaceAll("\0", "")];
    const place = take(4).readUInt32LE();
    const flash = new Uint8Array(chip.flash).fill(0xff);
    flash.set(take(2 * nWord), place);
    // the emulator counts RAM from 0x100, wherever the chip's I/O registers end
    const cpu = new CPU(new Uint16Array(flash.buffer), chip.ramStart + chip.ram - 0x100);
    cpu.data.set(take(32));
    cpu.data[0x5f] = take(1)[0];
    cpu.data.set(take(2), 0x5d);
    cpu.data.set(take(chip.ram), chip.ramStart);
    const nStep = take(4).readUInt32LE();
    take(4);
    cpu.pc = place / 2;
    const told = Buffer.alloc(STEP_BYTES * nStep);
    for (let row = 0; row < told.length; row += STEP_BYTES) {
        step(cpu);
        told.writeUInt32LE(2 * cpu.pc, row);
        told.writeBigUInt64LE(BigInt(cpu.cycles), row + 4);
        told.writeUInt16LE(cpu.SP, row + 12);
        told.writeUInt8(cpu.data[0x5f], row + 14);
        told.set(cpu.data.subarray(0, 32), row + 15);
    }
    give(told);
    give(cpu.data.subarray(chip.ramStart));
}
