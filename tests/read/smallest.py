"""The smallest job that reads, but for its lists of wheels."""

JOB = """[job]
name = "A job"
[truck]
wheelbase = "117.5 in"
[hub.front]
bolt_circle = "6x5.5 in"
[hub.rear]
bolt_circle = "6x5.5 in"
[files]
tires = "tires.csv"
ratios = "ratios.csv"
differentials = "differentials.csv"
"""
