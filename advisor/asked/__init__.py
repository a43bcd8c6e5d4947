"""What comes in: the callout, its radius and sizes, the material, the shop."""
