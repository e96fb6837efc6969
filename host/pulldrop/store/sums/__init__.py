"""Working sums: tables that follow from the records, and who is who among the parts."""
