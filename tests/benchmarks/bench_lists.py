"""Does a page of a list cost the same in a small service and in one of a million rows?

``python -m tests.benchmarks.bench_lists`` prints ratios of one run; machines are noisy and absolute times say little. It fills
a database of its own with a million quotes and customers of 500 invented shops, which takes some minutes and two gigabytes.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", str(Path(__file__).with_name("list_ratios.py"))]))
