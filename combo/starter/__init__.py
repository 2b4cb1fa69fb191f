"""The files that `combo new` writes."""
