package light

// slopes remembers how facets slope, and how the slope changes, at one place: a
// facet covers a hundred samples, and along it the slope changes almost evenly.
// Farther from that place than reach it is asked anew.
type slopes struct {
	carving carving
	reach   float64 // mm
	known   []bearing
}

// bearing is the slope (gx, gy) of a facet at (x, y) and how it changes.
type bearing struct {
	facet    int32
	x, y     float64
	gx, gy   float32
	gxx, gxy float32 // change of gx along x and along y
	gyx, gyy float32
}

const (
	slopesKept = 1 << 16
	slopesStep = 1e-5 // mm, for the changes
)

// newSlopes is for samples so far apart. Eight samples are at most two pixels of a
// usual picture; 0.1 mm is less than a groove's width (TestSlopesAgainstCarver).
func newSlopes(k carving, cell float64) *slopes {
	s := &slopes{carving: k, reach: min(8*cell, 0.1), known: make([]bearing, slopesKept)}
	for i := range s.known {
		s.known[i].facet = -1
	}
	return s
}

func (s *slopes) at(facet int32, x, y float64) (gx, gy float32) {
	b := &s.known[uint32(facet)*2654435761>>16]
	dx, dy := x-b.x, y-b.y
	if b.facet != facet || dx > s.reach || dx < -s.reach || dy > s.reach || dy < -s.reach {
		*b = s.bearing(facet, x, y)
		return b.gx, b.gy
	}
	u, v := float32(dx), float32(dy)
	return b.gx + float32(b.gxx*u) + float32(b.gxy*v), b.gy + float32(b.gyx*u) + float32(b.gyy*v)
}

func (s *slopes) bearing(facet int32, x, y float64) bearing {
	gx, gy := s.carving.Slope(facet, x, y)
	rx, ry := s.carving.Slope(facet, x+slopesStep, y)
	ux, uy := s.carving.Slope(facet, x, y+slopesStep)
	return bearing{
		facet: facet, x: x, y: y, gx: float32(gx), gy: float32(gy),
		gxx: float32((rx - gx) / slopesStep), gxy: float32((ux - gx) / slopesStep),
		gyx: float32((ry - gy) / slopesStep), gyy: float32((uy - gy) / slopesStep),
	}
}
