"""``python -m site_build.cli``: the same as the command ``handbook``."""

from site_build.cli.main import main

main()
