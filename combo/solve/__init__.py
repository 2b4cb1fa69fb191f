"""Which builds, in which order, and why not."""
