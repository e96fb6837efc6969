"""Virtual parts that are no relays: their shapes. No bench feeds them yet."""
