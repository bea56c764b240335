"""Files written whole or not at all, and folders where something is kept between runs."""

from lampwright.written.whole import write_whole

__all__ = ["write_whole"]
