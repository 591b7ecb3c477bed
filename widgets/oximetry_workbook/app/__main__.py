"""Lets `python -m oximetry_workbook.app` do what the command `oximetry-workbook` does."""

import sys

from oximetry_workbook.app.command_line import main

sys.exit(main())
