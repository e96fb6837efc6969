"""Pictures of measurements as SVG: one coil step, one figure over time, one figure over a crate."""
