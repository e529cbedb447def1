"""Selects lists written for editing systems, spreadsheets and scripts; from values to bytes, no files touched."""

from review.exports.bundle import bundle
from review.exports.edl import cmx3600, is_legal_reel
from review.exports.otio import otio_timeline
from review.exports.pull import Event, ExportFile, ExportRefused, SelectsList
from review.exports.table import csv_table

# What a list can be exported as: each takes a SelectsList and returns the finished files.
FORMATS = {"edl": cmx3600, "csv": csv_table, "otio": otio_timeline}

__all__ = [
    "FORMATS",
    "Event",
    "ExportFile",
    "ExportRefused",
    "SelectsList",
    "bundle",
    "cmx3600",
    "csv_table",
    "is_legal_reel",
    "otio_timeline",
]
