; What the compiler, or a source, calls from <string.h> and <avr/pgmspace.h>. What isn't called isn't linked.
;
; Arguments come in r25:r24, r23:r22 and r21:r20; the result goes out in r25:r24; r18 to r27, r30, r31
; and r0 are free to use (avr-gcc calling convention). Each loop is entered at its end, where the
; count goes below zero when it is over.

; void *memset(void *to, int value, size_t count)
        .section .text.memset, "ax", @progbits
        .global memset
        .type   memset, @function
memset:
        movw    r26, r24
        rjmp    2f
1:      st      X+, r22
2:      subi    r20, 1
        sbci    r21, 0
        brcc    1b
        ret
        .size   memset, . - memset

; void *memcpy(void *to, const void *from, size_t count)
        .section .text.memcpy, "ax", @progbits
        .global memcpy
        .type   memcpy, @function
memcpy:
        movw    r26, r24
        movw    r30, r22
        rjmp    2f
1:      ld      r0, Z+
        st      X+, r0
2:      subi    r20, 1
        sbci    r21, 0
        brcc    1b
        ret
        .size   memcpy, . - memcpy

; void *memcpy_P(void *to, const void *from_flash, size_t count)
        .section .text.memcpy_P, "ax", @progbits
        .global memcpy_P
        .type   memcpy_P, @function
memcpy_P:
        movw    r26, r24
        movw    r30, r22
        rjmp    2f
1:      lpm     r0, Z+
        st      X+, r0
2:      subi    r20, 1
        sbci    r21, 0
        brcc    1b
        ret
        .size   memcpy_P, . - memcpy_P

; void *memmove(void *to, const void *from, size_t count): from the end where the target lies above.
        .section .text.memmove, "ax", @progbits
        .global memmove
        .type   memmove, @function
memmove:
        movw    r26, r24
        movw    r30, r22
        cp      r22, r24
        cpc     r23, r25
        brlo    4f
        rjmp    2f
1:      ld      r0, Z+
        st      X+, r0
2:      subi    r20, 1
        sbci    r21, 0
        brcc    1b
        ret
4:      add     r26, r20
        adc     r27, r21
        add     r30, r20
        adc     r31, r21
        rjmp    6f
5:      ld      r0, -Z
        st      -X, r0
6:      subi    r20, 1
        sbci    r21, 0
        brcc    5b
        ret
        .size   memmove, . - memmove

; int memcmp(const void *one, const void *other, size_t count): the difference of the first two bytes that differ.
        .section .text.memcmp, "ax", @progbits
        .global memcmp
        .type   memcmp, @function
memcmp:
        movw    r26, r24
        movw    r30, r22
        rjmp    2f
1:      ld      r24, X+
        ld      r0, Z+
        sub     r24, r0
        cpse    r24, r1
        rjmp    3f
2:      subi    r20, 1
        sbci    r21, 0
        brcc    1b
        clr     r24
        clr     r25
        ret
3:      sbc     r25, r25                    ; the borrow of the difference, as its upper byte
        ret
        .size   memcmp, . - memcmp
