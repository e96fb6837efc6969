"""Bytes of the serial line and back; nothing else knows bytes, and nothing here does I/O."""
