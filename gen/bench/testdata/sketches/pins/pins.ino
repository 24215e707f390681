// Each pin once, in order.
void setup()
{
    for (uint8_t pin = 0; pin < NUM_DIGITAL_PINS; pin++) {
        pinMode(pin, OUTPUT);
        digitalWrite(pin, HIGH);
        digitalWrite(pin, LOW);
    }
}

void loop()
{
}
