"""Reads lists of separated values as a data library does that is not ours, in the decimal habit of a country.

Usage: tables_read.py HABIT FILE… where HABIT is point or comma. Prints a JSON document: for each file its columns,
each with its type and its cells as text; numbers with a point.
"""
import csv
import json
import sys

import agate

LOCALES = {"point": ("en_GB", ","), "comma": ("de_DE", ";")}

locale, between = LOCALES[sys.argv[1]]
number = agate.Number(locale=locale)
tester = agate.TypeTester(types=[number, agate.Text()])
told = {}
for path in sys.argv[2:]:
    # A spreadsheet of such a country takes the mark at the beginning for what it is, and shows it nowhere.
    with open(path, encoding="utf-8-sig", newline="") as file:
        table = agate.Table.from_csv(file, delimiter=between, column_types=tester, sniff_limit=0)
    columns = {}
    for column in table.columns:
        cells = ["" if cell is None else str(cell) for cell in column.values()]
        columns[column.name] = {"type": type(column.data_type).__name__, "cells": cells}
    told[path] = columns
    # Not one cell begins as a formula does unless it is a number.
    with open(path, encoding="utf-8-sig", newline="") as file:
        for row in csv.reader(file, delimiter=between):
            for cell in row:
                if cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
                    number.cast(cell)
json.dump(told, sys.stdout)
