"""The firmware that the package carries, and the boot loader of the Nano through which it is written."""
