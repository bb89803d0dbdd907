"""Stands in for `micropython`: the same names in both interpreters; the interrupt byte belongs to the virtual
link.
"""

from board_clock import Board

try:
    from micropython import const, heap_lock, heap_unlock, mem_info, opt_level, schedule, stack_use
except ImportError:

    def const(value):
        """Return the value; a board's compiler folds it."""
        return value

    def schedule(function, argument):
        """Call at once."""
        function(argument)

    def opt_level(level=0):
        """Accept a level."""
        return 0

    def mem_info(verbose=0):
        """Nothing to show here."""

    def stack_use():
        """Unknown here."""
        return 0

    def heap_lock():
        """Nothing to lock here."""
        return 0

    heap_unlock = heap_lock


def alloc_emergency_exception_buf(size):
    """Accept a size."""


def kbd_intr(byte):
    """Set the byte that interrupts the program; -1 makes every byte data."""
    Board.interrupt_byte = byte


def native(function):
    """Leave the function as it is."""
    return function


viper = native
