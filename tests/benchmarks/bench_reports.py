"""Does a report of one shop cost the same among 20,000 closed jobs of all shops and among 200,000?

``python -m tests.benchmarks.bench_reports`` prints ratios of one run; machines are noisy and absolute times say little. It
fills a database of its own with the closed jobs of 500 invented shops by one statement each time.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", str(Path(__file__).with_name("report_ratios.py"))]))
