"""`python -m sitterlight.viewer` is the command `sitterlight`."""

import sys

from sitterlight.viewer.command import main

sys.exit(main())
