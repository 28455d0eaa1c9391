"""Draws the DXF fixtures with ezdxf 0.18.1 (MIT, Debian python3-ezdxf) and writes
what ezdxf itself says of them: for every entity its length, taken along ezdxf's own
points of the curve (1e-7 drawing units from it, or 4000 to a spline), and the box
round all of them.
Run it in this folder: /usr/bin/python3 fixtures.py
"""
import json
import math

import ezdxf
from ezdxf import disassemble
from ezdxf.math import BoundingBox


def places(e):
    if e.dxftype() == "LINE":
        return [e.dxf.start, e.dxf.end]
    if e.dxftype() in ("POLYLINE", "LWPOLYLINE"):
        parts = list(e.virtual_entities())
        out = []
        for part in parts:
            p = list(places(part))
            if out and out[-1].distance(p[0]) > 1e-9:
                p.reverse()  # a mirrored or clockwise arc is given the other way round
                if out[-1].distance(p[0]) > 1e-9:
                    out.reverse()
                    if out[-1].distance(p[0]) > 1e-9:
                        p.reverse()
            out.extend(p)
        return out
    if e.dxftype() == "SPLINE":
        return list(e.construction_tool().approximate(segments=4000))
    return list(e.flattening(1e-7))  # exact curves


def facts(doc):
    lengths, box = [], BoundingBox()
    for e in disassemble.recursive_decompose(doc.modelspace()):
        pts = list(places(e))
        lengths.append([e.dxftype(), sum(a.distance(b) for a, b in zip(pts, pts[1:]))])
        box.extend(pts)
    return {"lengths": lengths, "box": [box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y]}


out = {}


def shapes(version):
    doc = ezdxf.new(version)
    doc.units = 4
    m = doc.modelspace()
    m.add_line((0, 0), (30, 4), dxfattribs={"layer": "EDGE"})
    m.add_arc((10, 20), 7.5, 300, 40)
    m.add_circle((50, 30), 3.25)
    m.add_polyline2d([(0, 40, 0, 0, 0.5), (10, 40, 0, 0, -0.25), (25, 45, 0, 0, 0), (30, 40, 0, 0, 0)], format="xyseb")
    b = doc.blocks.new("TOOTH", base_point=(1, 2))
    b.add_line((1, 2), (3, 5))
    b.add_arc((4, 5), 1, 90, 180)
    inner = doc.blocks.new("PAIR")
    inner.add_blockref("TOOTH", (0, 0))
    inner.add_blockref("TOOTH", (8, 1), dxfattribs={"rotation": 30, "xscale": 1.5, "yscale": 1.5})
    m.add_blockref("PAIR", (70, 10), dxfattribs={"rotation": -20, "xscale": 2, "yscale": 2})
    m.add_arc((-10, 20), 4, 10, 80, dxfattribs={"extrusion": (0, 0, -1)})
    return doc


for version in ("R12", "R2000", "R2018"):
    doc = shapes(version)
    m = doc.modelspace()
    if version != "R12":
        m.add_ellipse((20, 70), (12, 5), 0.4, 0.5, 4.0)
        m.add_lwpolyline([(0, 90, 0.3), (12, 95, 0), (20, 90, -1), (28, 90, 0)], format="xyb", close=True)
        m.add_lwpolyline([(-5, 90, 0.3), (-12, 95, 0), (-20, 90, -1)], format="xyb", dxfattribs={"extrusion": (0, 0, -1)})
        m.add_open_spline([(0, 110), (5, 118), (12, 104), (20, 116), (28, 110), (33, 112)], degree=3)
        m.add_rational_spline([(0, 130), (5, 138), (12, 124), (20, 136), (28, 130)], [1, 3, 0.5, 2, 1], degree=3)
    name = f"shapes-{version.lower()}.dxf"
    doc.saveas(name)
    out[name] = facts(doc)

doc = ezdxf.new("R2000")
doc.units = 1
n = 401
doc.modelspace().add_lwpolyline([(i * 0.02, 0.02 * math.sin(2 * math.pi * i * 0.02 / 0.2)) for i in range(n)])
doc.saveas("inch-bar.dxf")
out["inch-bar.dxf"] = facts(doc)

json.dump(out, open("ezdxf.json", "w"), indent=1)
