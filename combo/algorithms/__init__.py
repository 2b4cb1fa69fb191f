"""Algorithms without trucks: packing, hitting sets, shrinking."""
