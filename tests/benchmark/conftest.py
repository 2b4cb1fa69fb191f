"""Nothing here is a test: doctests would import libraries that only the benchmarks need."""

collect_ignore_glob = ["*.py", "engines/*.py"]
