"""How fast, as ratios against rivals written as well as we know how: python -m tests.speed"""

import sys
from pathlib import Path

# The referees stand beside this package. Its own modules go by the name of `speed` alone, as the tests know them:
# compiled code that is kept remembers the name of its module.
_TESTS = str(Path(__file__).resolve().parent.parent)
if _TESTS not in sys.path:
    sys.path.append(_TESTS)
