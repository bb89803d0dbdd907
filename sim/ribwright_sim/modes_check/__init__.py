"""The mode table explored exhaustively: the real controller, every order of events, and what must hold."""

from .walk import Result, Violation, explore

__all__ = ["Result", "Violation", "explore"]
