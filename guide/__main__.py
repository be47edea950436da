"""`python -m guide` is the command line."""

import sys

from guide.cli import main

sys.exit(main())
