"""Which builds, in which order: filter, prune, enumerate, the first K; a solver where it is best."""
