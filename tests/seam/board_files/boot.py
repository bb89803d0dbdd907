import machine

machine.Pin(20, machine.Pin.OUT, value=0)
