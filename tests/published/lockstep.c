/* Runs programs on the reference emulator and prints the state after every instruction.
 *
 * Reads cases from standard input, little-endian:
 *   uint32 number of words, 16 bytes with the chip's name, uint32 flash byte of the first word and of the start,
 *   that many flash words, 32 general registers, SREG, uint16 SP, all of RAM, uint32 number of steps,
 *   uint16 flash byte of an interrupt vector (0: none), uint16 cycles that the chip takes to enter it
 * Writes for each step: uint32 program counter [flash byte], uint64 cycle, uint16 SP, SREG, 32 registers;
 * after the steps of a case all of RAM.
 *
 * The reference enters an interrupt in no time at all; the chip takes four or five, which are added here.
 */
#include <simavr/sim_avr.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void take(void *into, size_t size)
{
    if (fread(into, 1, size, stdin) != size) exit(3);
}

static void give(const void *from, size_t size)
{
    fwrite(from, 1, size, stdout);
}

static void do_not_sleep(avr_t *avr, avr_cycle_count_t how_long)
{
    (void)avr;
    (void)how_long;
}

static void be_silent(avr_t *avr, const int level, const char *format, va_list arguments)
{
    (void)avr;
    (void)level;
    (void)format;
    (void)arguments;
}

static void run_case(uint32_t n_word)
{
    char name[17] = {0};
    uint32_t place;
    take(name, 16);
    take(&place, 4);
    avr_t *avr = avr_make_mcu_by_name(name);
    if (!avr) exit(4);
    avr_init(avr);
    avr->frequency = 16000000;
    avr->sleep = do_not_sleep;
    memset(avr->flash, 0xff, avr->flashend + 1);
    take(avr->flash + place, 2 * n_word);
    avr->codeend = avr->flashend;
    take(avr->data, 32);
    uint8_t status;
    take(&status, 1);
    for (int bit = 0; bit < 8; bit++) avr->sreg[bit] = status >> bit & 1;
    take(avr->data + R_SPL, 2);
    uint32_t ram = avr->ioend + 1;
    take(avr->data + ram, avr->ramend + 1 - ram);
    uint32_t n_step;
    uint16_t vector, entry;
    take(&n_step, 4);
    take(&vector, 2);
    take(&entry, 2);
    avr->pc = place;
    avr->cycle = 0;
    for (uint32_t step = 0; step < n_step; step++) {
        avr_flashaddr_t before = avr->pc;
        avr_run(avr);
        if (vector && avr->pc == vector && before != vector) avr->cycle += entry;
        uint32_t pc = avr->pc;
        uint64_t cycle = avr->cycle;
        status = 0;
        for (int bit = 0; bit < 8; bit++) status |= avr->sreg[bit] << bit;
        give(&pc, 4);
        give(&cycle, 8);
        give(avr->data + R_SPL, 2);
        give(&status, 1);
        give(avr->data, 32);
    }
    give(avr->data + ram, avr->ramend + 1 - ram);
    avr_terminate(avr);
}

int main(void)
{
    uint32_t n_word;
    avr_global_logger_set(be_silent);
    while (fread(&n_word, 4, 1, stdin) == 1) run_case(n_word);
    return 0;
}
