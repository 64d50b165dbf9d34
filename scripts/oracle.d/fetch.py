"""Writes the daily series of gauge 09447000 out of the installed package `baseflow` 0.1.0 (MIT).

The record is of the US Geological Survey and in the public domain; m³/s, gaps left empty.
"""

import csv
import sys
from pathlib import Path

import baseflow

COLUMN = "US_09447000"


def main(folder):
    source = Path(baseflow.__file__).parent / "example.csv"
    target = Path(folder) / "us_09447000.csv"
    target.parent.mkdir(parents=True, exist_ok=True)
    with source.open(newline="") as read, target.open("w", newline="") as written:
        rows = csv.DictReader(read)
        date = rows.fieldnames[0]
        out = csv.writer(written, lineterminator="\n")
        out.writerow(["date", "flow"])
        days = gaps = 0
        for row in rows:
            flow = row[COLUMN].strip()
            days += 1
            gaps += not flow
            out.writerow([row[date][:10], flow])
    print(f"{target}: {days} days, {gaps} gaps")


if __name__ == "__main__":
    main(sys.argv[1])
