/* Runs a firmware on libsimavr and decodes one pin of port D, as our emulated chip decodes it: frames, their bytes,
 * every half bit held against its window and counted by its length, the shortest latch.
 *
 * Arguments: image file (flash bytes from 0), bit of port D, cycles to run, threshold between zero and one, latch,
 *   then least and most of zero high, zero low, one high, one low. [cycle]
 * Prints: frames, bits, breaches, shortest latch, shortest and longest of each half, hash of all bytes (FNV-1a),
 *   and the seconds of processor time that the run took.
 *
 * The emulator would sleep in real time; here sleeping takes none.
 */
#include <simavr/avr_ioport.h>
#include <simavr/sim_avr.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { ZERO_HIGH, ZERO_LOW, ONE_HIGH, ONE_LOW, N_HALF };
enum { N_LENGTH = 64, MOST_BYTES = 4096 };

static avr_t *avr;
static uint64_t rose, fell, threshold, latch, shortest_latch = UINT64_MAX;
static uint64_t least[N_HALF], most[N_HALF], shortest[N_HALF], longest[N_HALF], lengths[N_HALF][N_LENGTH];
static uint64_t n_frame, n_bit, n_breach, hash = 0xcbf29ce484222325u;
static uint8_t bytes[MOST_BYTES];
static int is_open, value, frame_bits, shift;

static void do_not_sleep(avr_t *chip, avr_cycle_count_t how_long)
{
    (void)chip;
    (void)how_long;
}

static void be_silent(avr_t *chip, const int level, const char *format, va_list arguments)
{
    (void)chip, (void)level, (void)format, (void)arguments;
}

static void count(int half, uint64_t cycles)
{
    lengths[half][cycles < N_LENGTH ? cycles : N_LENGTH - 1]++;
    if (cycles < shortest[half]) shortest[half] = cycles;
    if (cycles > longest[half]) longest[half] = cycles;
    n_breach += cycles < least[half] || cycles > most[half];
}

static void finish_frame(void)
{
    for (int at = 0; at < frame_bits / 8; at++) hash = (hash ^ bytes[at]) * 0x100000001b3u;
    n_frame++;
    is_open = 0;
}

static void on_edge(struct avr_irq_t *irq, uint32_t level, void *param)
{
    (void)irq, (void)param;
    uint64_t now = avr->cycle;
    if (level & 1) {
        uint64_t low = now - fell;
        if (is_open && low >= latch) finish_frame();
        else if (is_open) count(value ? ONE_LOW : ZERO_LOW, low);
        if (!is_open) {
            if (n_frame && low < shortest_latch) shortest_latch = low;
            is_open = 1;
            frame_bits = shift = 0;
        }
        rose = now;
    } else {
        if (!is_open) return;
        uint64_t high = now - rose;
        value = high > threshold;
        count(value ? ONE_HIGH : ZERO_HIGH, high);
        shift = (shift << 1 | value) & 0xff;
        n_bit++;
        if (++frame_bits % 8 == 0 && frame_bits / 8 <= MOST_BYTES) bytes[frame_bits / 8 - 1] = shift;
        fell = now;
    }
}

int main(int n_argument, char **argument)
{
    if (n_argument != 14) return 2;
    uint64_t until = strtoull(argument[3], 0, 10);
    threshold = strtoull(argument[4], 0, 10);
    latch = strtoull(argument[5], 0, 10);
    for (int half = 0; half < N_HALF; half++) {
        least[half] = strtoull(argument[6 + 2 * half], 0, 10);
        most[half] = strtoull(argument[7 + 2 * half], 0, 10);
        shortest[half] = UINT64_MAX;
    }
    avr_global_logger_set(be_silent);
    avr = avr_make_mcu_by_name("atmega328p");
    if (!avr) return 4;
    avr_init(avr);
    avr->frequency = 16000000;
    avr->sleep = do_not_sleep;
    FILE *image = fopen(argument[1], "rb");
    if (!image) return 3;
    memset(avr->flash, 0xff, avr->flashend + 1);
    size_t n_read = fread(avr->flash, 1, avr->flashend + 1, image);
    fclose(image);
    if (!n_read) return 3;
    avr->codeend = avr->flashend;
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), atoi(argument[2])), on_edge, NULL);
    clock_t began = clock();
    while (avr->cycle < until) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) return 5;
    }
    if (is_open && avr->cycle - fell >= latch) finish_frame();
    double passed = (double)(clock() - began) / CLOCKS_PER_SEC;
    printf("%llu %llu %llu %llu", (unsigned long long)n_frame, (unsigned long long)n_bit,
           (unsigned long long)n_breach, (unsigned long long)shortest_latch);
    for (int half = 0; half < N_HALF; half++)
        printf(" %llu %llu", (unsigned long long)shortest[half], (unsigned long long)longest[half]);
    printf(" %016llx %.6f\n", (unsigned long long)hash, passed);
    return 0;
}
