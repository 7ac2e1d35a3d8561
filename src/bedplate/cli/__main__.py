"""`python -m bedplate.cli` is `bedplate`."""

import sys

from bedplate.cli.main import main

sys.exit(main())
