"""Terminals' time logs of known truth for tests: the passes of `driven`, written as ISO 11783-10 has them."""

import struct
from datetime import datetime

from tests import driven

PLACE = 'A="" B="" D=""'
DEVICE = (
    '<ISO11783_TaskData><DVC A="DVC1"><DET A="DET-1" B="1" C="1" E="0" F="0"/><DET A="DET-2" B="2" C="2" E="1" F="1"/>'
    '<DET A="DET-3" B="3" C="4" E="2" F="2"/><DET A="DET-4" B="4" C="4" E="3" F="2"/></DVC></ISO11783_TaskData>'
)


def header(*values, place=PLACE, start=""):
    """The header in XML; each value is a DDI and the device element it belongs to."""
    logged = "".join(f'<DLV A="{ddi:04X}" B="" C="{element}"/>' for ddi, element in values)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<TIM A="{start}" D="4"><PTN {place}/>{logged}</TIM>'


def record(seconds, lon, lat, values=(), *, day=None, fix=4):
    """One record of a header with north, east and kind of fix; values are pairs of number and value."""
    day = (driven.START - datetime(1980, 1, 1)).days if day is None else day
    ms, north, east = round(1000 * seconds), round(lat * 1e7), round(lon * 1e7)
    logged = b"".join(struct.pack("<Bi", index, value) for index, value in values)
    return struct.pack("<IHiiBB", ms, day, north, east, fix, len(values)) + logged


def condensed(rows, off):
    """The word of sixteen work states for a planter of so many sections of one row, the last of them off."""
    states = [1] * (rows - int(off)) + [0] * int(off) + [3] * (16 - rows)
    word = sum(state << (2 * k) for k, state in enumerate(states))
    return word - (1 << 32) if word >= 1 << 31 else word


def logged(*passes, pause_s=600, rows=4, speed=True, seeds=8.5):
    """Header and records of passes; a value is written only where it changes, as terminals do."""
    values = [(161, "DET-2"), (12, "DET-2")] + [(397, "DET-1")] * speed
    at, out, before = 3600 * driven.START.hour, [], {}
    for passed in passes:
        for x, y, v, off in zip(*passed, strict=True):
            now = {0: condensed(rows, off), 1: round(1000 * seeds)}
            if speed:
                now[2] = round(1000 * v)
            changed = [(k, value) for k, value in now.items() if before.get(k) != value]
            out.append(record(at, 9.0 + x / 70_000, 51.0 + y / 111_000, changed))
            before, at = now, at + 1
        at += pause_s
    return header(*values), b"".join(out)


def write(folder, head, body, name="TLG00001"):
    """Write a log into a folder and return the path of its header."""
    folder.mkdir(exist_ok=True)
    (folder / f"{name}.BIN").write_bytes(body)
    path = folder / f"{name}.XML"
    path.write_text(head)
    return path
