"""How long does it take to plan the sheets of a deck, beside writing a quote and beside working one in plain floats?

``python -m tests.benchmarks.bench_sheets`` prints ratios of one run; machines are noisy and absolute times say little.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", str(Path(__file__).with_name("sheet_ratios.py"))]))
