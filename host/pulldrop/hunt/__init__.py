"""Which control, or combination, works a wire: hypotheses, their odds, what to try next, proof. No I/O.

Rule: a claim rests on looks; a rule that is only the likeliest is never called proved.
"""
