"""``python -m voicewalk``: the program, where its script is not on the path."""

import sys

from voicewalk.cli.main import main

sys.exit(main())
