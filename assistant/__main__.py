"""`python -m assistant`: the same as `oxygen-assistant`."""

import sys

from assistant.cli import main

sys.exit(main())
