"""What does a trial of drafts cost beside pricing each of its quotes twice?

``python -m tests.benchmarks.bench_trial`` prints ratios of one run; machines are noisy and absolute times say little.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", str(Path(__file__).with_name("trial_ratios.py"))]))
