"""Many trucks at once: every job of a folder, on the cores of one machine or on a cluster."""
