package export

import (
	"context"
	"math"
)

// Solid is a closed body bounded by triangles: a Body or a Relief. Its vertices
// are numbered in the order in which it yields them.
type Solid interface {
	solidName() string
	counts() (vertices, triangles int)
	vertices(context.Context, func([3]float32) error) error
	triangles(context.Context, func(a, b, c int) error) error
	facets(context.Context, func(facet) error) error // what the two above say, in one
	tell(*SolidSummary)
}

// facet is a triangle, mm, counter-clockwise seen from outside.
type facet [3][3]float32

// SolidSummary tells what solid was written.
type SolidSummary struct {
	Format    string     `json:"format"` // "STL", "3MF", "OBJ"
	Name      string     `json:"name"`
	Units     string     `json:"units"` // always "mm"; STL and OBJ do not say so in the file
	Vertices  int        `json:"vertices"`
	Triangles int        `json:"triangles"`
	Box       [6]float64 `json:"box_mm"` // least x, y, z, then greatest
	Volume    float64    `json:"volume_mm3"`
	Area      float64    `json:"area_mm2"` // of the whole surface

	// Of a relief.
	Tolerance float64  `json:"tolerance_um,omitempty"` // asked for
	Cell      float64  `json:"cell_um,omitempty"`      // of the grid whose corners the triangles take
	Bound     float64  `json:"error_bound_um,omitempty"`
	Remarks   []string `json:"remarks,omitempty"`
}

// sums gathers box, volume and area of facets as they pass.
type sums struct {
	lo, hi       [3]float64
	volume, area float64
	n            int
}

// add takes a facet in and returns its unit normal. The volume is that of the
// tetrahedra between the facets and the first vertex: their signed sum.
func (s *sums) add(f facet, origin [3]float64) (normal [3]float32) {
	if s.n == 0 {
		s.lo = [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)}
		s.hi = [3]float64{math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	}
	s.n++
	var p [3][3]float64
	for i, v := range f {
		for k, x := range v {
			s.lo[k], s.hi[k] = min(s.lo[k], float64(x)), max(s.hi[k], float64(x))
			p[i][k] = float64(x) - origin[k]
		}
	}
	var u, v, c [3]float64
	for k := range 3 {
		u[k], v[k] = p[1][k]-p[0][k], p[2][k]-p[0][k]
	}
	for k := range 3 {
		a, b := (k+1)%3, (k+2)%3
		c[k] = float64(u[a]*v[b]) - float64(u[b]*v[a])
	}
	n := math.Sqrt(float64(c[0]*c[0]) + float64(c[1]*c[1]) + float64(c[2]*c[2]))
	s.area += n / 2
	s.volume += (float64(c[0]*p[0][0]) + float64(c[1]*p[0][1]) + float64(c[2]*p[0][2])) / 6
	if n > 0 {
		for k := range 3 {
			normal[k] = float32(c[k] / n)
		}
	}
	return normal
}

// summary fills in what is the same for every format.
func (s *sums) summary(format string, solid Solid) SolidSummary {
	v, t := solid.counts()
	out := SolidSummary{Format: format, Name: solid.solidName(), Units: "mm", Vertices: v, Triangles: t, Volume: s.volume, Area: s.area,
		Box: [6]float64{s.lo[0], s.lo[1], s.lo[2], s.hi[0], s.hi[1], s.hi[2]}}
	solid.tell(&out)
	return out
}
