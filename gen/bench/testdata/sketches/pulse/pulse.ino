// Pin 13 high and low by instructions whose cycles are known.
void setup()
{
    cli();
    DDRB = 0x20;
    asm volatile("   ldi r16, 0x20\n"
                 "   ldi r17, 0x00\n"
                 "1: out 0x05, r16\n" // 1 cycle
                 "   ldi r18, 50\n"   // 1
                 "2: dec r18\n"       // 1
                 "   brne 2b\n"       // 2, the last time 1
                 "   out 0x05, r17\n" // 1
                 "   nop\n"           // 1
                 "   nop\n"           // 1
                 "   rjmp 1b\n");     // 2
}

void loop()
{
}
