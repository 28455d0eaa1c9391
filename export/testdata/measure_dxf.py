"""Audits a DXF drawing with ezdxf and tells, as JSON, what it found: errors, version,
units, and for each layer the number of polylines, their length and their box."""
import json
import math
import sys

import ezdxf
from ezdxf import bbox, path
from ezdxf.math import BoundingBox

doc = ezdxf.readfile(sys.argv[1])
auditor = doc.audit()
layers = {}
box = BoundingBox()
for e in doc.modelspace():
    length = 0.0
    p = path.make_path(e)
    points = list(p.flattening(float(sys.argv[2])))
    for a, b in zip(points, points[1:]):
        length += a.distance(b)
    box.extend(points)
    layer = layers.setdefault(e.dxf.layer, {"lines": 0, "length": 0.0})
    layer["lines"] += 1
    layer["length"] += length
json.dump({
    "errors": [str(e.message) for e in auditor.errors] + [str(e.message) for e in auditor.fixes],
    "version": doc.dxfversion,
    "units": doc.header.get("$INSUNITS", 0),
    "layers": layers,
    "box": [box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y],
}, sys.stdout)
