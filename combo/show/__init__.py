"""For people and programs: shows what was found, and decides nothing."""
