"""Sheets as the pages of a PDF file."""
