"""The first builds of a plain job by SQL: `python duckdb_engine.py FOLDER COUNT` prints them as JSON lines."""

from plain import asked, print_rows

from enumerate_sql import first_builds  # isort: skip  # found on the path that `plain` sets

if __name__ == "__main__":
    folder, count = asked()
    print_rows(first_builds(folder, count, threads=2))
