"""Audits DXF drawings with ezdxf and tells of each, as a line of JSON, what it found:
errors, version, units, the number and length of lines by layer, and the box.

    measure_dxf.py TOLERANCE FILE...
"""
import json
import sys

import ezdxf
from ezdxf import path
from ezdxf.math import BoundingBox

for name in sys.argv[2:]:
    doc = ezdxf.readfile(name)
    auditor = doc.audit()
    layers = {}
    box = BoundingBox()
    for e in doc.modelspace():
        points = list(path.make_path(e).flattening(float(sys.argv[1])))
        box.extend(points)
        layer = layers.setdefault(e.dxf.layer, {"lines": 0, "length": 0.0, "area": 0.0})
        layer["lines"] += 1
        layer["length"] += sum(a.distance(b) for a, b in zip(points, points[1:]))
        if e.is_closed:
            layer["area"] += abs(sum(a.x * b.y - a.y * b.x for a, b in zip(points, points[1:]))) / 2
    print(json.dumps({
        "errors": [e.message for e in auditor.errors + auditor.fixes],
        "version": doc.dxfversion,
        "units": doc.header.get("$INSUNITS", 0),
        "layers": layers,
        "box": [box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y],
    }))
