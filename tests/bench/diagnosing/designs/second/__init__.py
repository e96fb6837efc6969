"""A relay from first principles and published figures, sharing no code and no constant with the plant of the host.

Of the host it takes only what belongs to the bench: the network around the coil, and the shape of a suppressor.
"""
