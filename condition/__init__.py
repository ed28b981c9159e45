"""Bench tool for restorers of fretted instruments: photos in, marks measured, condition report out."""

__version__ = "0.1.0"
