"""What do staging and applying a file of 5,000 materials cost beside one bare insert of 5,000 rows?

``python -m tests.benchmarks.bench_import`` prints ratios of one run; machines are noisy and absolute times say little.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", str(Path(__file__).with_name("import_ratios.py"))]))
