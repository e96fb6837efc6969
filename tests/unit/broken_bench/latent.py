"""Faults of the bench itself that nothing shows until a second one comes: each leaves every test as it was.

Rule: a sound bench has none; they are put in by whoever tests the bench's own checks.
"""

from dataclasses import dataclass, field

from pulldrop.plant.bench.feeds import LIMIT_S


@dataclass(frozen=True, slots=True)
class Latent:
    """What has failed without a sign. branches, throws: bits of transistors that are shorted, as in `Pins`.

    limiter: the pulse limit does not cut. k1: the main relay is welded. poles: of the emergency stop, stuck closed:
    "coil", "load" (they feed the coil supply and K1) or "logic" (it informs the board). supply: the coil supply follows
    its DAC while the lamp is dark, too.
    """

    branches: int = 0
    throws: int = 0
    limiter: bool = False
    k1: bool = False
    poles: frozenset[str] = field(default_factory=frozenset)
    supply: bool = False

    def load_fed(self, stop_pressed: bool) -> bool:
        """Whether the load supply reaches the branches."""
        return not stop_pressed or self.k1 or "load" in self.poles

    def coil_fed(self, stop_pressed: bool) -> bool:
        """Whether the coil supply has its rail."""
        return not stop_pressed or "coil" in self.poles

    def stop_open(self, stop_pressed: bool) -> bool:
        """Whether the board's stop input reads open."""
        return stop_pressed and "logic" not in self.poles

    def throws_on(self, driven: int, driven_for_s: float) -> int:
        """Bits of the throw transistors that conduct, their pins driven so since so long."""
        cut = driven_for_s >= LIMIT_S and not self.limiter
        return (0 if cut else driven) | self.throws


SOUND = Latent()
