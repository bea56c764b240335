; Interrupt vectors and start-up for an 8-bit AVR with jmp and lpm Z+. What variables
; start with lies in the first 64 KB of flash; EIND, where there is one, stays 0 as a reset leaves it.
;
; The assembler is told vector_count; chip.ld gives the addresses. Sources put what must run early
; into .init3: the stack stands by then, variables are not set up yet. Names with two underscores
; are those that the compiler emits.
;
; Source: ATmega328P datasheet, interrupt vectors (a jump of two words for each, reset first), status
; register, stack pointer; AVR instruction set manual; avr-gcc calling convention (r1 is zero).

status = 0x3f                               ; I/O addresses
stack_high = 0x3e
stack_low = 0x3d

        .section .vectors, "ax", @progbits
        .global vectors
vectors:
        jmp     start
        .altmacro
        .macro  vector number
        .weak   __vector_\number            ; a source's ISR() takes its place
        .set    __vector_\number, unexpected
        jmp     __vector_\number
        .endm
        .set    number, 1
        .rept   vector_count - 1
        vector  %number
        .set    number, number + 1
        .endr

        .section .init0, "ax", @progbits
start:

; Zero register, flags (interrupts off), stack. A reset does the last two; a jump to address 0 doesn't.
        .section .init2, "ax", @progbits
        clr     r1
        out     status, r1
        ldi     r28, lo8(ram_last)
        ldi     r29, hi8(ram_last)
        out     stack_high, r29
        out     stack_low, r28

; Variables that have a value: from flash. X: where to, Z: where from, r25:r24: bytes left.
        .section .init4, "ax", @progbits
        .global __do_copy_data
__do_copy_data:
        ldi     r26, lo8(data_start)
        ldi     r27, hi8(data_start)
        ldi     r30, lo8(data_in_flash)
        ldi     r31, hi8(data_in_flash)
        ldi     r24, lo8(data_size)
        ldi     r25, hi8(data_size)
        rjmp    2f
1:      lpm     r0, Z+
        st      X+, r0
2:      sbiw    r24, 1
        brcc    1b

; All others: zero. They follow at once, so X is there already. What is in .noinit comes after them
; and keeps what it holds.
        .global __do_clear_bss
__do_clear_bss:
        ldi     r24, lo8(bss_size)
        ldi     r25, hi8(bss_size)
        rjmp    4f
3:      st      X+, r1
4:      sbiw    r24, 1
        brcc    3b

        .section .init9, "ax", @progbits
        call    main

; An interrupt that no source serves, or main that came to its end: stand still with interrupts off,
; so that the watchdog resets the chip.
unexpected:
        cli
5:      rjmp    5b
