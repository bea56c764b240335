/* Runs a firmware on libsimavr and writes every edge of one pin of port D to standard output:
 * 64-bit little-endian words, cycle * 2 + level. Test only; nothing of it is shipped.
 *
 * usage: line_edges firmware.elf bit first_cycle last_cycle
 */
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <simavr/avr_ioport.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

static avr_t *avr;
static uint64_t first_cycle;

static void on_edge(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)param;
    if (avr->cycle >= first_cycle) {
        const uint64_t word = avr->cycle * 2 + (value & 1);
        fwrite(&word, sizeof word, 1, stdout);
    }
}

/* The library's own sleeps in real time. */
static void do_not_wait(avr_t *chip, avr_cycle_count_t cycles)
{
    (void)chip;
    (void)cycles;
}

/* The emulator would tell what it loads on stdout, among the edges. */
static void be_silent(avr_t *avr, const int level, const char *format, va_list arguments)
{
    (void)avr, (void)level, (void)format, (void)arguments;
}

int main(int argc, char **argv)
{
    if (argc != 5) {
        return 2;
    }
    elf_firmware_t firmware = {0};
    avr_global_logger_set(be_silent);
    if (elf_read_firmware(argv[1], &firmware) != 0) {
        return 3;
    }
    avr = avr_make_mcu_by_name("atmega328p");
    avr_init(avr);
    firmware.frequency = 16000000;
    avr_load_firmware(avr, &firmware);
    avr->frequency = 16000000;
    avr->sleep = do_not_wait;
    first_cycle = strtoull(argv[3], NULL, 10);
    const uint64_t last_cycle = strtoull(argv[4], NULL, 10);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), atoi(argv[2])), on_edge, NULL);
    while (avr->cycle < last_cycle) {
        const int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            return 4;
        }
    }
    return 0;
}
