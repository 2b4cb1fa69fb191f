"""Parts combinations for custom trucks: what fits, in which order, and why not."""

__version__ = "0.3.0"
