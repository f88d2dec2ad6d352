"""What does a posted quote cost beside the two parts that cannot be spared, the core alone and the insert alone?

``python -m tests.benchmarks.bench_post`` prints ratios of one run; machines are noisy and absolute times say little.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", str(Path(__file__).with_name("post_ratios.py"))]))
