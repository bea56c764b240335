"""The instruction loop.

Source: AVR Instruction Set Manual, cycles as for AVRe+ with a program counter of 16 or
22 bits (from memory). Within an instruction the chip's registers are read at the start of its last
cycle and written at the end of it.

The loop is one long function on purpose: the program counter, the cycle, the stack pointer
and the status register can stay in machine registers, and the compiler turns the chain of
comparisons into one jump table. Split up, they would go through memory at every instruction.
"""

from __future__ import annotations

from lampwright.chip import opcode, state
from lampwright.chip.apart import (
    change_io_bit,
    fall_asleep,
    read_outside_ram,
    reason_to_stop,
    stop,
    write_outside_ram,
)
from lampwright.chip.compiled import as_argument, compiled_and_kept, inlined
from lampwright.chip.decode import LAST_WORD, SINGLE
from lampwright.chip.interrupts import settle
from lampwright.chip.line import take_edges
from lampwright.chip.registers import EIND, PINA, RAMPZ, SPH, SPL, SREG
from lampwright.chip.state import Bytes, ChipState
from lampwright.chip.status import (
    after_add,
    after_count,
    after_logic,
    after_multiply,
    after_pair,
    after_shift,
    after_subtract,
)
from lampwright.chip.steps import LONGEST_FOLD

ALL_BITS, NO_ADDRESS = as_argument(0xFF), as_argument(0)

LOOK_UP = -1
"""A limit that ends the loop after the present instruction."""


@inlined
def word_at(memory: Bytes, register: int) -> int:
    """Return a register pair as a number."""
    return int(memory[register] & 0xFF | (memory[register + 1] & 0xFF) << 8)


@inlined
def signed(byte: int) -> int:
    """Return a byte, 0 to 255, as a number in two's complement."""
    return (byte ^ 0x80) - 0x80


@inlined
def put_word(memory: Bytes, register: int, value: int) -> None:
    """Set a register pair."""
    memory[register] = value & 0xFF
    memory[register + 1] = value >> 8 & 0xFF


@compiled_and_kept
def run_chip(chip: ChipState, until: int) -> int:
    """Run until at least cycle ``until``; return REACHED, DRAINING or STOPPED."""
    scalar, memory, code, flash = chip.scalar, chip.memory, chip.code, chip.flash
    first_ram, last_ram, wide = scalar[state.FIRST_RAM], scalar[state.LAST_RAM], scalar[state.IS_WIDE]
    flash_words = min(len(flash) >> 1, LAST_WORD)
    while True:
        horizon = settle(chip, until)
        if horizon < 0:
            return horizon
        cycle = scalar[state.CYCLE]
        base, limit = SINGLE, horizon
        if cycle + LONGEST_FOLD < horizon:
            base, limit = 0, horizon - LONGEST_FOLD
        at = scalar[state.PROGRAM_COUNTER] + base
        pointer = memory[SPL] | memory[SPH] << 8
        status = memory[SREG] & 0xFF
        here, step = at, 0
        while cycle < limit:
            here = at
            word = code[at]
            operation = word & 0x7F
            d = word >> 7 & 0x1F
            r = word >> 12 & 0x1F
            operand = word >> 17 & 0x3FFFF
            step = word >> 35 & 0x1F
            at = word >> 40 & 0x3FFFF
            if operation == opcode.GO:
                pass
            elif operation == opcode.OUT_PORT:
                port = (operand - PINA) // 3
                scalar[state.PIN_BEFORE + port] = memory[operand]
                scalar[state.PIN_CHANGED + port] = cycle + 1
                memory[operand] = memory[d] & scalar[state.PORT_PINS + port]
                if take_edges(chip, port, memory[operand] & memory[operand - 1], cycle + 1):
                    limit = LOOK_UP
            elif operation == opcode.SEND_BIT:
                port = word >> 58
                address = PINA + 3 * port + 2
                pins, direction = scalar[state.PORT_PINS + port], memory[address - 1]
                upper, lower = memory[d] & pins, memory[r] & pins
                is_one = memory[operand & 0x1F] >> (operand >> 5 & 7) & 1
                first, last = operand >> 8 & 0x1F, operand >> 13
                # no branch on what the bit is: which way it goes can't be foreseen
                scalar[state.PIN_BEFORE + port] = lower + is_one * (upper - lower)
                scalar[state.PIN_CHANGED + port] = cycle + last + 1
                memory[address] = lower
                must_look = take_edges(chip, port, upper & direction, cycle + 1)
                must_look |= take_edges(chip, port, lower & direction, cycle + 1 + first + is_one * (last - first))
                if must_look:
                    limit = LOOK_UP
            elif operation == opcode.SKIP_IF_REGISTER_BIT_SET:
                if memory[d] >> r & 1:
                    at, step = operand, word >> 58
            elif operation == opcode.SKIP_IF_REGISTER_BIT_CLEAR:
                if memory[d] >> r & 1 == 0:
                    at, step = operand, word >> 58
            elif operation == opcode.SKIP_IF_EQUAL:
                if memory[d] == memory[r]:
                    at, step = operand, word >> 58
            elif operation == opcode.BRANCH_IF_SET:
                if status >> r & 1:
                    at, step = operand, word >> 58
            elif operation == opcode.BRANCH_IF_CLEAR:
                if status >> r & 1 == 0:
                    at, step = operand, word >> 58
            elif operation == opcode.ADD_WIDE:
                total = (memory[d] & 0xFF) + (memory[r] & 0xFF)
                memory[d] = total & 0xFF
                d, r = operand & 0x1F, operand >> 5
                first, second = memory[d] & 0xFF, memory[r] & 0xFF
                result = first + second + (total >> 8)
                memory[d] = result & 0xFF
                status = after_add(first, second, result, status)
            elif operation == opcode.SUBTRACT_IMMEDIATE_WIDE:
                total = (memory[d] & 0xFF) - (operand & 0xFF)
                memory[d] = total & 0xFF
                first, second = memory[r] & 0xFF, operand >> 8
                result = first - second - (total >> 8 & 1)
                memory[r] = result & 0xFF
                status = after_subtract(first, second, result, status, 2 if total & 0xFF == 0 else 0)
            elif operation == opcode.MULTIPLY_AND_MOVE:
                product = (memory[d] & 0xFF) * (memory[r] & 0xFF)
                put_word(memory, 0, product)
                put_word(memory, operand, product)
                status = after_multiply(product, product >> 15 & 1, status)
            elif operation == opcode.MULTIPLY_AND_ADD:
                product = (memory[d] & 0xFF) * (memory[r] & 0xFF)
                d, r = operand & 0x1F, operand >> 5
                total = (memory[d] & 0xFF) + (product & 0xFF)
                memory[d] = total & 0xFF
                first, second = memory[r] & 0xFF, product >> 8
                result = first + second + (total >> 8)
                memory[r] = result & 0xFF
                memory[0], memory[1] = product & 0xFF, 0
                # of the sum C and H are left, the rest is of clearing r1: Z
                status = (status & 0xC0) | 0x02 | (result >> 8) | ((first ^ second ^ result) << 1 & 0x20)
            elif operation == opcode.ADD or operation == opcode.ADD_WITH_CARRY:
                first, second = memory[d] & 0xFF, memory[r] & 0xFF
                result = first + second
                if operation == opcode.ADD_WITH_CARRY:
                    result += status & 1
                memory[d] = result & 0xFF
                status = after_add(first, second, result, status)
            elif operation == opcode.SUBTRACT:
                first, second = memory[d] & 0xFF, memory[r] & 0xFF
                memory[d] = (first - second) & 0xFF
                status = after_subtract(first, second, first - second, status, 2)
            elif operation == opcode.SUBTRACT_WITH_CARRY:
                first, second = memory[d] & 0xFF, memory[r] & 0xFF
                result = first - second - (status & 1)
                memory[d] = result & 0xFF
                status = after_subtract(first, second, result, status, status & 2)
            elif operation == opcode.SUBTRACT_IMMEDIATE:
                first = memory[d] & 0xFF
                memory[d] = (first - operand) & 0xFF
                status = after_subtract(first, operand, first - operand, status, 2)
            elif operation == opcode.SUBTRACT_IMMEDIATE_WITH_CARRY:
                first = memory[d] & 0xFF
                result = first - operand - (status & 1)
                memory[d] = result & 0xFF
                status = after_subtract(first, operand, result, status, status & 2)
            elif operation == opcode.COMPARE:
                first, second = memory[d] & 0xFF, memory[r] & 0xFF
                status = after_subtract(first, second, first - second, status, 2)
            elif operation == opcode.COMPARE_WITH_CARRY:
                first, second = memory[d] & 0xFF, memory[r] & 0xFF
                status = after_subtract(first, second, first - second - (status & 1), status, status & 2)
            elif operation == opcode.COMPARE_IMMEDIATE:
                first = memory[d] & 0xFF
                status = after_subtract(first, operand, first - operand, status, 2)
            elif operation == opcode.AND:
                result = memory[d] & memory[r] & 0xFF
                memory[d] = result
                status = after_logic(result, status)
            elif operation == opcode.AND_IMMEDIATE:
                result = memory[d] & operand
                memory[d] = result
                status = after_logic(result, status)
            elif operation == opcode.OR:
                result = (memory[d] | memory[r]) & 0xFF
                memory[d] = result
                status = after_logic(result, status)
            elif operation == opcode.OR_IMMEDIATE:
                result = (memory[d] | operand) & 0xFF
                memory[d] = result
                status = after_logic(result, status)
            elif operation == opcode.EXCLUSIVE_OR:
                result = (memory[d] ^ memory[r]) & 0xFF
                memory[d] = result
                status = after_logic(result, status)
            elif operation == opcode.COMPLEMENT:
                result = ~memory[d] & 0xFF
                memory[d] = result
                status = after_logic(result, status) | 1
            elif operation == opcode.NEGATE:
                first = memory[d] & 0xFF
                memory[d] = -first & 0xFF
                status = after_subtract(0, first, -first, status, 2)
            elif operation == opcode.INCREMENT:
                result = (memory[d] + 1) & 0xFF
                memory[d] = result
                status = after_count(result, result == 0x80, status)
            elif operation == opcode.DECREMENT:
                result = (memory[d] - 1) & 0xFF
                memory[d] = result
                status = after_count(result, result == 0x7F, status)
            elif operation == opcode.ADD_TO_PAIR:
                first = word_at(memory, d)
                result = (first + operand) & 0xFFFF
                put_word(memory, d, result)
                status = after_pair(result, (~first & result) >> 15, (first & ~result) >> 15, status)
            elif operation == opcode.SUBTRACT_FROM_PAIR:
                first = word_at(memory, d)
                result = (first - operand) & 0xFFFF
                put_word(memory, d, result)
                status = after_pair(result, (first & ~result) >> 15, (~first & result) >> 15, status)
            elif operation == opcode.MULTIPLY:
                product = (memory[d] & 0xFF) * (memory[r] & 0xFF)
                put_word(memory, 0, product)
                status = after_multiply(product, product >> 15 & 1, status)
            elif operation == opcode.MULTIPLY_SIGNED:
                product = signed(memory[d]) * signed(memory[r])
                put_word(memory, 0, product)
                status = after_multiply(product, product >> 15 & 1, status)
            elif operation == opcode.MULTIPLY_MIXED:
                product = signed(memory[d]) * (memory[r] & 0xFF)
                put_word(memory, 0, product)
                status = after_multiply(product, product >> 15 & 1, status)
            elif operation == opcode.MULTIPLY_FRACTION:
                product = (memory[d] & 0xFF) * (memory[r] & 0xFF)
                put_word(memory, 0, product << 1)
                status = after_multiply(product << 1, product >> 15 & 1, status)
            elif operation == opcode.MULTIPLY_FRACTION_SIGNED:
                product = signed(memory[d]) * signed(memory[r])
                put_word(memory, 0, product << 1)
                status = after_multiply(product << 1, product >> 15 & 1, status)
            elif operation == opcode.MULTIPLY_FRACTION_MIXED:
                product = signed(memory[d]) * (memory[r] & 0xFF)
                put_word(memory, 0, product << 1)
                status = after_multiply(product << 1, product >> 15 & 1, status)
            elif operation == opcode.SHIFT_RIGHT:
                first = memory[d] & 0xFF
                memory[d] = first >> 1
                status = after_shift(first >> 1, first & 1, status)
            elif operation == opcode.ROTATE_RIGHT:
                first = memory[d] & 0xFF
                result = first >> 1 | (status & 1) << 7
                memory[d] = result
                status = after_shift(result, first & 1, status)
            elif operation == opcode.SHIFT_RIGHT_SIGNED:
                first = memory[d] & 0xFF
                result = first >> 1 | first & 0x80
                memory[d] = result
                status = after_shift(result, first & 1, status)
            elif operation == opcode.SWAP_NIBBLES:
                memory[d] = (memory[d] << 4 & 0xF0) | (memory[d] >> 4 & 0x0F)
            elif operation == opcode.MOVE:
                memory[d] = memory[r]
            elif operation == opcode.MOVE_PAIR:
                memory[d] = memory[r]
                memory[d + 1] = memory[r + 1]
            elif operation == opcode.LOAD_IMMEDIATE:
                memory[d] = operand
            elif opcode.LOAD <= operation <= opcode.DECREMENT_THEN_LOAD or operation == opcode.LOAD_DIRECT:
                if operation == opcode.LOAD_DIRECT:
                    address = operand
                elif operation == opcode.LOAD:
                    address = (word_at(memory, r) + operand) & 0xFFFF
                elif operation == opcode.LOAD_THEN_INCREMENT:
                    address = word_at(memory, r)
                    put_word(memory, r, address + 1)
                else:
                    address = (word_at(memory, r) - 1) & 0xFFFF
                    put_word(memory, r, address)
                if first_ram <= address <= last_ram:
                    memory[d] = memory[address]
                else:
                    memory[d] = read_outside_ram(chip, address, ALL_BITS, cycle + 1, pointer, status)
                    if scalar[state.STOP] != state.RUNNING:
                        limit = LOOK_UP
            elif opcode.STORE <= operation <= opcode.DECREMENT_THEN_STORE or operation == opcode.STORE_DIRECT:
                value = memory[d] & 0xFF
                if operation == opcode.STORE_DIRECT:
                    address = operand
                elif operation == opcode.STORE:
                    address = (word_at(memory, r) + operand) & 0xFFFF
                elif operation == opcode.STORE_THEN_INCREMENT:
                    address = word_at(memory, r)
                    put_word(memory, r, address + 1)
                else:
                    address = (word_at(memory, r) - 1) & 0xFFFF
                    put_word(memory, r, address)
                if first_ram <= address <= last_ram:
                    memory[address] = value
                else:
                    write_outside_ram(chip, address, value, cycle + 2, pointer, status)
                    pointer, status = memory[SPL] | memory[SPH] << 8, memory[SREG] & 0xFF
                    limit = LOOK_UP
            elif operation == opcode.LOAD_FLASH or operation == opcode.LOAD_FLASH_THEN_INCREMENT:
                address = word_at(memory, opcode.FLASH_POINTER)
                if address < len(flash):
                    memory[d] = flash[address]
                    if operation == opcode.LOAD_FLASH_THEN_INCREMENT:
                        put_word(memory, opcode.FLASH_POINTER, address + 1)
                else:
                    stop(chip, state.STOP_FLASH_READ, address)
                    limit = LOOK_UP
            elif operation == opcode.LOAD_FAR_FLASH or operation == opcode.LOAD_FAR_FLASH_THEN_INCREMENT:
                address = (memory[RAMPZ] & 0xFF) << 16 | word_at(memory, opcode.FLASH_POINTER)
                if address < len(flash):
                    memory[d] = flash[address]
                    if operation == opcode.LOAD_FAR_FLASH_THEN_INCREMENT:
                        put_word(memory, opcode.FLASH_POINTER, address + 1)
                        memory[RAMPZ] = (address + 1) >> 16 & 0xFF
                else:
                    stop(chip, state.STOP_FLASH_READ, address)
                    limit = LOOK_UP
            elif operation == opcode.PUSH:
                if first_ram <= pointer <= last_ram:
                    memory[pointer] = memory[d]
                    pointer -= 1
                    if pointer < scalar[state.LOWEST_STACK]:
                        scalar[state.LOWEST_STACK] = pointer
                else:
                    stop(chip, state.STOP_STACK, pointer)
                    limit = LOOK_UP
            elif operation == opcode.POP:
                if first_ram <= pointer + 1 <= last_ram:
                    pointer += 1
                    memory[d] = memory[pointer]
                else:
                    stop(chip, state.STOP_STACK, pointer + 1)
                    limit = LOOK_UP
            elif opcode.CALL <= operation <= opcode.CALL_INDIRECT or operation == opcode.CALL_FAR_INDIRECT:
                if pointer - 1 - wide < first_ram or pointer > last_ram:
                    stop(chip, state.STOP_STACK, pointer)
                    limit = LOOK_UP
                else:
                    memory[pointer] = at & 0xFF
                    memory[pointer - 1] = at >> 8 & 0xFF
                    if wide:
                        memory[pointer - 2] = at >> 16 & 0x01
                    pointer -= 2 + wide
                    if pointer < scalar[state.LOWEST_STACK]:
                        scalar[state.LOWEST_STACK] = pointer
                    at = operand
                    if operation == opcode.CALL_INDIRECT:
                        at = base + min(word_at(memory, opcode.FLASH_POINTER), flash_words)
                    elif operation == opcode.CALL_FAR_INDIRECT:
                        target = (memory[EIND] & 0xFF) << 16 | word_at(memory, opcode.FLASH_POINTER)
                        at = base + min(target, flash_words)
            elif operation == opcode.RETURN or operation == opcode.RETURN_FROM_INTERRUPT:
                if pointer + 1 < first_ram or pointer + 2 + wide > last_ram:
                    stop(chip, state.STOP_STACK, pointer + 1)
                    limit = LOOK_UP
                else:
                    target = memory[pointer + 1] & 0xFF
                    for more in range(2, 3 + wide):
                        target = target << 8 | memory[pointer + more] & 0xFF
                    at = base + min(target, flash_words)
                    pointer += 2 + wide
                    if operation == opcode.RETURN_FROM_INTERRUPT:
                        status |= 0x80
                        scalar[state.HOLD] = 1
                        limit = LOOK_UP
            elif operation == opcode.JUMP_INDIRECT:
                at = base + min(word_at(memory, opcode.FLASH_POINTER), flash_words)
            elif operation == opcode.JUMP_FAR_INDIRECT:
                target = (memory[EIND] & 0xFF) << 16 | word_at(memory, opcode.FLASH_POINTER)
                at = base + min(target, flash_words)
            elif operation == opcode.IN:
                if operand == SREG:
                    memory[d] = status
                elif operand == SPL:
                    memory[d] = pointer & 0xFF
                elif operand == SPH:
                    memory[d] = pointer >> 8
                else:
                    memory[d] = read_outside_ram(chip, operand, ALL_BITS, cycle, pointer, status)
                    if scalar[state.STOP] != state.RUNNING:
                        limit = LOOK_UP
            elif operation == opcode.OUT:
                if operand == SPL:
                    pointer = (pointer & 0xFF00) | memory[d]
                    # programs write SPH first, so that this is a whole pointer
                    if pointer < scalar[state.LOWEST_STACK]:
                        scalar[state.LOWEST_STACK] = pointer
                elif operand == SPH:
                    pointer = (pointer & 0xFF) | (memory[d] & 0xFF) << 8
                else:
                    write_outside_ram(chip, operand, memory[d], cycle + 1, pointer, status)
                    status = memory[SREG] & 0xFF
                    limit = LOOK_UP
            elif operation == opcode.SET_STATUS_BIT:
                status |= 1 << r
            elif operation == opcode.CLEAR_STATUS_BIT:
                status &= ~(1 << r)
            elif operation == opcode.SET_INTERRUPTS:
                status |= 0x80
                scalar[state.HOLD] = 1
                limit = LOOK_UP
            elif operation == opcode.STORE_BIT:
                status = (status & 0xBF) | (memory[d] >> r & 1) << 6
            elif operation == opcode.LOAD_BIT:
                memory[d] = (memory[d] & ~(1 << r)) | (status >> 6 & 1) << r
            elif operation == opcode.SKIP_IF_IO_BIT_CLEAR or operation == opcode.SKIP_IF_IO_BIT_SET:
                value = read_outside_ram(chip, 0x20 + d, 1 << r, cycle, pointer, status) >> r & 1
                if value == (1 if operation == opcode.SKIP_IF_IO_BIT_SET else 0):
                    at, step = operand, word >> 58
                if scalar[state.STOP] != state.RUNNING:
                    limit = LOOK_UP
            elif operation == opcode.SET_IO_BIT or operation == opcode.CLEAR_IO_BIT:
                change_io_bit(chip, 0x20 + d, r, operation == opcode.SET_IO_BIT, cycle + 2, pointer, status)
                limit = LOOK_UP
            elif operation == opcode.SLEEP:
                fall_asleep(chip, cycle + 1)
                limit = LOOK_UP
            elif operation == opcode.WATCHDOG_RESET:
                scalar[state.WATCHDOG_ORIGIN] = cycle + 1
                limit = LOOK_UP
            else:
                stop(chip, reason_to_stop(operation), NO_ADDRESS)
                limit = LOOK_UP
            cycle += step
        memory[SPL] = pointer & 0xFF
        memory[SPH] = pointer >> 8
        memory[SREG] = status
        if scalar[state.STOP] != state.RUNNING:  # it stands before what it can't do
            at, cycle = here, cycle - step
        scalar[state.PROGRAM_COUNTER] = at & (SINGLE - 1)
        scalar[state.CYCLE] = cycle + scalar[state.EEPROM_PAUSE]
        scalar[state.EEPROM_PAUSE] = 0
