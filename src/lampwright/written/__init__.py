"""Files written whole or not at all."""

from lampwright.written.whole import write_whole

__all__ = ["write_whole"]
