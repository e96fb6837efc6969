"""The moving parts: armature with return spring and stops, and the moving contact as a second mass on a leaf.

All positions are referred to the pole face (lever ratio 1): `s` is the armature's travel from its back stop,
`z` the moving contact's place; the leaf is slack at z = s. The fixed contacts stand at `nc_at` and `no_at`:

    m_arm s''     = pull - (F0 + k s) - leaf -+ friction         0 <= s <= travel, restitution at both ends
    m_contact z'' = leaf - F_no + F_nc
    leaf          = k_leaf (s - z) + c_leaf (s' - z')
    F_fixed       = k_fixed d (1 + c_fixed d')                   d: how far the fixed contact is pushed back

The last line is the contact law of Hunt and Crossley (1975); it loses energy without sticking. Bounce, transfer
time and the contact force follow from these four lines.
"""

from pydantic import Field

from pulldrop.plant.shape import Shape


class Armature(Shape):
    """Masses, springs and distances of one part. Fitted as a whole; none of them is a maker's figure."""

    travel_mm: float = Field(default=1.5, gt=0, le=10, description="of the armature, back stop to core (fitted)")
    mass_g: float = Field(default=1.6, gt=0, le=50, description="of the armature, referred to the pole (fitted)")
    return_n: float = Field(default=1.0, ge=0, le=50, description="return spring at rest (fitted)")
    return_n_per_mm: float = Field(default=0.2, ge=0, le=50, description="rate of the return spring (fitted)")
    friction_n: float = Field(default=0.02, gt=0, le=1000, description="of the hinge (assumed)")
    restitution: float = Field(default=0.3, ge=0, lt=1, description="of the armature at its stops (fitted)")
    leaf_n_per_mm: float = Field(default=5.0, gt=0, le=100, description="rate of the contact leaf (fitted)")
    leaf_damping: float = Field(default=0.05, ge=0, le=1, description="of the leaf, part of critical (assumed)")
    contact_g: float = Field(default=0.3, gt=0, le=10, description="moving contact and end of the leaf (fitted)")
    nc_press_mm: float = Field(default=0.15, ge=0, le=5, description="how far NC bends the leaf at rest (fitted)")
    overtravel_mm: float = Field(default=0.35, ge=-5, le=5, description="armature travel left as NO touches (fitted)")
    fixed_n_per_mm: float = Field(default=100.0, gt=0, le=1000, description="rate of the fixed contacts (assumed)")
    contact_damping_s_per_m: float = Field(default=1.5, ge=0, le=10, description="loss at the contacts (fitted)")
