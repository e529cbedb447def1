"""Selects lists written for editing systems, spreadsheets and scripts; from values to bytes, no files touched."""

from review.exports.bundle import bundle
from review.exports.edl import cmx3600
from review.exports.edl_files import edl_export
from review.exports.options import DEFAULTS, ExportOptions, OptionRefused
from review.exports.otio import otio_timeline
from review.exports.preflight import Remark, preflight
from review.exports.pull import Event, ExportFile, ExportRefused, SelectsList
from review.exports.reels import is_legal_reel
from review.exports.table import csv_table

# What a list can be exported as: each takes a SelectsList and ExportOptions and returns the finished files.
FORMATS = {
    "edl": edl_export,
    "csv": lambda selects, options=DEFAULTS: csv_table(selects, options.columns),
    "otio": otio_timeline,
}

__all__ = [
    "FORMATS",
    "Event",
    "ExportFile",
    "ExportOptions",
    "ExportRefused",
    "OptionRefused",
    "Remark",
    "SelectsList",
    "bundle",
    "cmx3600",
    "csv_table",
    "edl_export",
    "is_legal_reel",
    "otio_timeline",
    "preflight",
]
