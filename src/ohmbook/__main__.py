"""`python -m ohmbook`."""

from ohmbook.cli import main

main()
