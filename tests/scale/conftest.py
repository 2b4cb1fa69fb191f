"""The SQL enumerator and its drawn jobs stand beside the benchmarks that use them too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmark"))
