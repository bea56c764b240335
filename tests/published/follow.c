/* Runs a whole firmware on the reference emulator and tells its state every so many instructions.
 *
 * Arguments: chip, image file (flash bytes from 0), flash byte of the interrupt vector that is used,
 *   cycles that the chip takes to enter it, further cycles when it comes out of sleep,
 *   instructions to run, instructions between two tellings.
 * Writes for each telling, little-endian: uint32 program counter [flash byte], uint64 cycle, uint16 SP, SREG,
 *   32 general registers, uint64 hash of all RAM (FNV-1a).
 *
 * The reference enters an interrupt, and leaves sleep, in no time at all; what the chip takes is added here.
 * It starts a timer's prescaler when the timer is started; the chip's runs free from the reset on, so that a
 * match falls on a multiple of the prescaler. Each match is put there. An interrupt that meets the core awake
 * ends the program with 6.
 */
#include <simavr/sim_avr.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PRESCALER 8 // of timer 1, as the firmware sets it

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

static void tell(avr_t *avr)
{
    uint32_t pc = avr->pc;
    uint64_t cycle = avr->cycle, hash = 0xcbf29ce484222325u;
    uint8_t status = 0;
    for (int bit = 0; bit < 8; bit++) status |= avr->sreg[bit] << bit;
    for (uint32_t at = avr->ioend + 1; at <= avr->ramend; at++) hash = (hash ^ avr->data[at]) * 0x100000001b3u;
    fwrite(&pc, 4, 1, stdout);
    fwrite(&cycle, 8, 1, stdout);
    fwrite(avr->data + R_SPL, 2, 1, stdout);
    fwrite(&status, 1, 1, stdout);
    fwrite(avr->data, 32, 1, stdout);
    fwrite(&hash, 8, 1, stdout);
}

int main(int n_argument, char **argument)
{
    if (n_argument != 8) return 2;
    uint32_t vector = atoi(argument[3]), entry = atoi(argument[4]), waking = atoi(argument[5]);
    uint64_t n_instruction = strtoull(argument[6], 0, 10), between = strtoull(argument[7], 0, 10);
    avr_global_logger_set(be_silent);
    avr_t *avr = avr_make_mcu_by_name(argument[1]);
    if (!avr) return 4;
    avr_init(avr);
    avr->frequency = 16000000;
    avr->sleep = do_not_sleep;
    FILE *image = fopen(argument[2], "rb");
    if (!image) return 3;
    memset(avr->flash, 0xff, avr->flashend + 1);
    size_t n_read = fread(avr->flash, 1, avr->flashend + 1, image);
    fclose(image);
    if (!n_read) return 3;
    avr->codeend = avr->flashend;
    avr->cycle = 0;
    for (uint64_t run = 0; run < n_instruction;) {
        int slept = avr->state == cpu_Sleeping;
        avr_flashaddr_t before = avr->pc;
        avr_run(avr);
        if (avr->pc == vector && before != vector) {
            if (!slept) return 6; // then the moment of the match would not be known
            avr->cycle += entry + waking - avr->cycle % PRESCALER;
        }
        if (avr->state != cpu_Running && avr->state != cpu_Sleeping) return 5;
        if (slept) continue;
        if (++run % between == 0 && avr->state == cpu_Running) tell(avr);
    }
    return 0;
}
