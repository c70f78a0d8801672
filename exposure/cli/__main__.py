"""So that ``python -m exposure.cli`` does what ``exposure`` does."""

import sys

from exposure.cli import main

sys.exit(main())
