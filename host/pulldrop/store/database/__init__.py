"""Where a store is: its address, tables, guards, transactions, and the chain of what was written."""
