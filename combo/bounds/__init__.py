"""Upper bounds of builds: the chain relaxation, its multipliers, cuts for grades."""
