"""What a search works on: the lists as one instance, its classes, constraints, slack, objectives."""
