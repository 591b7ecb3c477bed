"""Serves the workbook on this machine: command line, settings of the servers, page template."""
