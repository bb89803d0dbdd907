"""What the board's interpreter is told to do while its ticks are measured; names are its own."""

# A tick in which memory was collected shows no growth.
NO_GROWTH = 65535
# So many ticks.
MOST = 2200
# A Pico at 125 MHz takes about 20 ms for a loop of 1000 float multiply-adds (known figure, no source): half
# of it, in units of 10 us.
HALF_LOOP = 1000

# Wraps one tick, the waking it belongs to, one exchange and one collection. What is kept does not grow.
BEGIN = (
    """
import board_clock, board_gc, board_orders, board_time, gc
from array import array
real_gc, real_time = board_gc._real, board_time._real
us, diff, used = real_time.ticks_us, real_time.ticks_diff, real_gc.mem_alloc
tick, step, exchange = loop._tick, loop.step, board_clock.exchange
counts = board_clock.Board.counts
SIZE, PROGRAM, ERASE = MOST, board_clock.PROGRAM, board_clock.ERASE
times, grown, flash, wakes, swept = array("H"), array("H"), array("H"), array("H"), array("H")
for kept in (times, grown, flash, wakes, swept):
    for _ in range(SIZE // 100):
        kept.extend(array("H", [0] * 100))
# Microseconds outside, ticks, collections, the loop's least, microseconds outside in this waking, the loop's.
state = [0, 0, 0, 1000000, 0, 0]

def loop_us():
    x = 0.5
    began = us()
    for _ in range(500):
        x = x * 0.999 + 0.001
    return diff(us(), began)

def leave_out(some_us):
    state[0] += some_us
    state[4] += some_us

def exchanged(kind, busy_us=0):
    began = us()
    exchange(kind, busy_us)
    leave_out(diff(us(), began))

def collected():
    began = us()
    real_gc.collect()
    leave_out(diff(us(), began))
    state[2] += 1
    board_clock.charge(board_clock.COLLECT)

def flash_us():
    costs = board_clock.Board.costs
    return counts[PROGRAM] * costs[PROGRAM] + counts[ERASE] * costs[ERASE]

def metered(now_ms):
    entered = us()
    # Whatever slows this computer slows the loop beside the tick as well.
    beside_us = loop_us()
    written_us = flash_us()
    before = used()
    state[4] += diff(us(), entered)
    state[0] = state[2] = 0
    began = us()
    tick(now_ms)
    took_us = diff(us(), began) - state[0]
    at = state[1]
    if at < SIZE:
        times[at] = min(took_us * HALF_LOOP // beside_us, 65535)
        state[3] = min(state[3], beside_us)
        grown[at] = NO_GROWTH if state[2] else used() - before
        flash[at] = (flash_us() - written_us) // 100
        state[1] = at + 1
        state[5] = beside_us

def woken():
    state[4] = state[5] = 0
    began = us()
    step()
    if state[5]:
        at = state[1] - 1
        wakes[at] = min((diff(us(), began) - state[4]) * HALF_LOOP // state[5], 65535)
        swept[at] = state[2]

board_clock.exchange = exchanged
gc.collect = collected
loop._tick, loop.step = metered, woken
board_orders.measured = (times, grown, flash, wakes, swept, state)
""".replace("MOST", str(MOST))
    .replace("NO_GROWTH", str(NO_GROWTH))
    .replace("HALF_LOOP", str(HALF_LOOP))
)

END = """
import board_orders, json
*kept, state = board_orders.measured
with open("ticks.json", "w") as file:
    json.dump({"ticks": state[1], "loop_us": state[3]}, file)
with open("ticks.bin", "wb") as file:
    for one in kept:
        file.write(one)
"""
