"""Files made to do harm, all built here: what each upload must refuse without keeping any of it."""

from __future__ import annotations

import hashlib
import io
import json
import stat
import struct
import zipfile
import zlib

from PIL import Image

LON, LAT = 9.123456, 51.654321
"""An invented place."""


def table_of_one_line(bytes_: int = 10_000_000) -> bytes:
    """A table whose second line never ends."""
    return b"date,t_max_c,t_min_c,rain_mm\n" + b"x" * bytes_


def table_of_cells(number: int = 400_000) -> bytes:
    """A header with hundreds of thousands of columns."""
    return b",".join(b"c%d" % i for i in range(number)) + b"\n" + b"1," * number + b"\n"


def open_quote(bytes_: int = 2_900_000) -> bytes:
    """A cell that opens and is never closed."""
    return b'id,time,note\n"a' + b"\n,;" * (bytes_ // 3)


def geojson_ring(corners: int) -> bytes:
    """One field with very many corners."""
    ring = [[LON + i * 1e-8, LAT + (i % 7) * 1e-8] for i in range(corners)]
    return feature_with({"type": "Polygon", "coordinates": [[*ring, ring[0]]]})


def feature_with(geometry: object) -> bytes:
    return json.dumps(
        {
            "type": "FeatureCollection",
            "features": [{"type": "Feature", "properties": {"role": "boundary"}, "geometry": geometry}],
        }
    ).encode()


def deep_geojson(depth: int = 10_000) -> bytes:
    """Brackets in brackets."""
    head = b'{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"role":"boundary"},"geometry":'
    return head + b'{"type":"Polygon","coordinates":' + b"[" * depth + b"]" * depth + b"}}]}"


def laughing_kml() -> bytes:
    """Entities that unfold to gigabytes."""
    entities = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10}">' for i in range(1, 12))
    text = f'<?xml version="1.0"?><!DOCTYPE kml [<!ENTITY l0 "ha">{entities}]>'
    return (text + "<kml><Document><Placemark><name>&l11;</name></Placemark></Document></kml>").encode()


def prying_kml(file: str = "/etc/passwd") -> bytes:
    """An entity that stands for a file of the machine."""
    ring = f"{LON},{LAT} {LON + 0.01},{LAT} {LON},{LAT + 0.01} {LON},{LAT}"
    return (
        f'<?xml version="1.0"?><!DOCTYPE kml [<!ENTITY x SYSTEM "file://{file}">]><kml><Document><Placemark>'
        f"<name>&x;</name><Polygon><outerBoundaryIs><LinearRing><coordinates>{ring}</coordinates></LinearRing>"
        "</outerBoundaryIs></Polygon></Placemark></Document></kml>"
    ).encode()


def utf16_laughing_kml() -> bytes:
    """The same in an encoding in which a search for its letters finds nothing."""
    return laughing_kml().decode().replace('version="1.0"', 'version="1.0" encoding="UTF-16"').encode("utf-16")


def deep_kml(depth: int = 100_000) -> bytes:
    return b"<kml>" + b"<Folder>" * depth + b"</Folder>" * depth + b"</kml>"


def archive(files: dict[str, bytes], *, link: str = "") -> bytes:
    """A zip of these files; with ``link`` also a symbolic link of that name."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, content in files.items():
            zipped.writestr(name, content)
        if link:
            entry = zipfile.ZipInfo(link)
            entry.create_system = 3
            entry.external_attr = (stat.S_IFLNK | 0o777) << 16
            zipped.writestr(entry, "/etc/passwd")
    return out.getvalue()


def bomb(gigabytes: int = 10) -> bytes:
    """Ten gigabytes of nothing in ten files, packed in some megabytes by packing one of them once."""
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -15)
    block, crc, size = bytes(1 << 20), 0, gigabytes * 100 << 20
    packed = io.BytesIO()
    for _ in range(size >> 20):
        packed.write(squeeze.compress(block))
        crc = zlib.crc32(block, crc)
    packed.write(squeeze.flush())
    one, out, heads = packed.getvalue(), io.BytesIO(), b""
    for number in range(10):
        name = b"trial.toml" if number == 0 else b"part%d.csv" % number
        about = struct.pack("<HHHHHIIIHH", 20, 0, 8, 0, 0x21, crc, len(one), size, len(name), 0)
        at = out.tell()
        out.write(b"PK\x03\x04" + about + name + one)
        heads += b"PK\x01\x02" + struct.pack("<H", 20) + about + struct.pack("<HHHII", 0, 0, 0, 0, at) + name
    start = out.tell()
    out.write(heads + b"PK\x05\x06" + struct.pack("<HHHHIIH", 0, 0, 10, 10, len(heads), start, 0))
    return out.getvalue()


def lying_bomb() -> bytes:
    """A bomb whose directory says that its file is small."""
    true = archive({"trial.toml": bytes(80_000_000)})
    size = struct.pack("<I", 80_000_000)
    return true.replace(size, struct.pack("<I", 1000))


def fat_trial() -> bytes:
    """A trial folder of sound size whose tables would take gigabytes once they are read."""
    table = b"id,time,who,strips\n" + b"".join(b"x%d,2026-05-04T10:00,%d,1\n" % (i, i * 7919) for i in range(1_400_000))
    kinds = ("scores", "events", "loads", "samples")
    return archive({"t/trial.toml": b"[trial]\n", **{f"t/records/{k}.csv": table for k in kinds}})


def fat_backup(bytes_: int) -> bytes:
    """A backup that holds what it says, with very large tables and a list of contents that fits."""
    row = b"".join(b'{"number":%d,"text":"%d","saved_at":"2026-05-04"}\n' % (i, i * 7919) for i in range(10_000))
    head = {"file": "evenground farm backup", "form": 1, "version": "0", "farm": "x", "people": [], "trials": []}
    head["trials"].append({"slug": "t", "name": "t", "season": 2026, "door": "planned", "put_away_at": None,
                           "made_at": "2026-05-04T10:00:00+00:00", "grown_from": None, "people": []})  # fmt: skip
    files = {"farm.json": json.dumps(head).encode(), "t/plans.jsonl": row * (bytes_ // len(row))}
    hashes = "".join(f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in files.items())
    return archive({**files, "hashes.txt": hashes.encode()})


def nested() -> bytes:
    """An archive in an archive in an archive."""
    inner = archive({"trial.toml": b"[trial]\n"})
    for number in range(4):
        inner = archive({f"level{number}.zip": inner})
    return inner


def crowded(files: int = 60_000) -> bytes:
    """Very many empty files."""
    return archive({f"t/{i}": b"" for i in range(files)})


def png_head(side: int = 50_000) -> bytes:
    """A picture that says it has 2,500 million points and holds a few."""
    raw = io.BytesIO()
    Image.new("RGB", (8, 8)).save(raw, "PNG")
    data = raw.getvalue()
    head = data[12:16] + struct.pack(">II", side, side) + data[24:29]
    return data[:12] + head + struct.pack(">I", zlib.crc32(head)) + data[33:]


def png_bomb(side: int = 20_000) -> bytes:
    """A sound picture of 400 million points in less than a megabyte."""
    squeeze = zlib.compressobj(9)
    row = bytes(1 + side // 8)
    body = b"".join(squeeze.compress(row) for _ in range(side)) + squeeze.flush()
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(part)) + kind + part + struct.pack(">I", zlib.crc32(kind + part))
        for kind, part in (
            (b"IHDR", struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)),
            (b"IDAT", body),
            (b"IEND", b""),
        )
    )


def png_text_bomb() -> bytes:
    """A small picture with a remark that unfolds to hundreds of megabytes."""
    raw = io.BytesIO()
    Image.new("RGB", (8, 8)).save(raw, "PNG")
    data, part = raw.getvalue(), b"note\x00\x00" + zlib.compress(bytes(400_000_000), 9)
    return (
        data[:33]
        + struct.pack(">I", len(part))
        + b"zTXt"
        + part
        + struct.pack(">I", zlib.crc32(b"zTXt" + part))
        + data[33:]
    )


def photograph(*, place: bool = True, size: tuple[int, int] = (400, 300), tail: bytes = b"") -> bytes:
    """A drawn photograph with what a phone writes into one, and perhaps something behind its end."""
    exif, out = Image.Exif(), io.BytesIO()
    exif[0x010F], exif[0x0110], exif[0x0132] = "Invented maker", "Invented camera", "2026:05:04 10:00:00"
    exif[0x013B], exif[0x9286] = "Invented person", "a remark"
    if place:
        exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 39.0, 15.5), 3: "E", 4: (9.0, 7.0, 24.5), 18: "WGS-84"})
    picture = Image.radial_gradient("L").resize(size).convert("RGB")
    picture.save(out, "JPEG", exif=exif, comment=b"a comment", icc_profile=b"invented profile" * 9)
    return out.getvalue() + tail


ZIPS = {
    "a path upwards": archive({"trial.toml": b"", "../../evil.py": b"x"}),
    "an absolute path": archive({"trial.toml": b"", "/etc/cron.d/evil": b"x"}),
    "a path of another system": archive({"trial.toml": b"", "..\\..\\evil.py": b"x", "C:/evil": b"x"}),
    "a link": archive({"trial.toml": b""}, link="records"),
    "archives in archives": nested(),
    "a directory cut off": archive({"trial.toml": b"x" * 5000})[:-30],
    "no archive": b"PK\x03\x04" + bytes(200),
}
TEXTS = {
    "nothing": b"",
    "white space": b" \n\r\n\t",
    "zero bytes": b"id,time\x00,strips\n\x00\x00,1,2\n",
    "wrong UTF-8": b"\xff\xfe\xfa" + b"\xc3\x28\xa0\xa1" * 50,
    "an open quote": open_quote(),
    "a program": b"\x7fELF\x02\x01\x01" + bytes(range(256)) * 40,
    "brackets in brackets": deep_geojson(),
    "entities that unfold": laughing_kml(),
    "entities in UTF-16": utf16_laughing_kml(),
    "an entity that is a file": prying_kml(),
    "a picture": photograph(),
}
PICTURES = {
    "nothing": b"",
    "no picture": b"\xff\xd8\xff\xe0 not a picture at all" * 20,
    "half a picture": photograph()[:2000],
    "a drawing with a script": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "a page": b"<!doctype html><script>alert(1)</script>",
    "2,500 million points said": png_head(),
    "400 million points": png_bomb(),
    "a program": b"MZ" + bytes(300),
    "an archive": archive({"a.jpg": b"x"}),
}
