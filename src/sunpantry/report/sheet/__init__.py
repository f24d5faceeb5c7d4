"""The build sheet: what you take to the shed."""

from sunpantry.report.sheet.make import PAPERS, sheet_data, sheet_pdf, write_sheet

__all__ = ["PAPERS", "sheet_data", "sheet_pdf", "write_sheet"]
