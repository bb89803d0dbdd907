"""First code after any reset: every output that can heat goes off before anything else is tried.

A soft reset leaves pins as they were, so this cannot be left to the reset itself.
"""

import machine
import pins

for number in pins.RELAYS:
    machine.Pin(number, machine.Pin.OUT, value=0)
machine.Pin(pins.ALIVE, machine.Pin.OUT, value=0)
