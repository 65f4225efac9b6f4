"""Flat and findings to a sheet of plain drawing calls; knows no file format."""
