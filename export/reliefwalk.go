package export

import (
	"context"

	"brightcut/surface"
)

// How a Relief yields itself to the writers. The corners of the upper side come
// first, row by row, then those of the underside below the rim, counter-clockwise,
// then the middle of the underside.

func (r *Relief) solidName() string { return r.opts.Name }

func (r *Relief) counts() (vertices, triangles int) {
	return r.mesh.count() + r.rim + 1, r.surface + 3*r.rim
}

func (r *Relief) tell(s *SolidSummary) {
	s.Tolerance = r.opts.Tolerance * 1000
	s.Cell = r.grid.Cell * 1000
	s.Bound = r.Bound() * 1000
}

func (r *Relief) at(i, j int, z float32) [3]float32 {
	x, y := r.grid.At(i, j)
	return [3]float32{float32(x), float32(y), z}
}

func (r *Relief) middle() [3]float32 {
	x, y := r.grid.At(0, 0)
	return [3]float32{float32(x + float64(r.mesh.nx)*r.grid.Cell/2), float32(y + float64(r.mesh.ny)*r.grid.Cell/2), float32(-r.opts.Base)}
}

func (r *Relief) vertices(ctx context.Context, yield func([3]float32) error) error {
	err := r.rows(ctx, func(row int, f *surface.Field) error {
		for j := min(row, 1); j < f.Ny; j++ { // the first line was the last of the row before
			for i, z := range f.Row(j) {
				if r.mesh.has(i, row*square+j) {
					if err := yield(r.at(i, row*square+j, z)); err != nil {
						return err
					}
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	r.mesh.rim(func(i, j int) {
		if err == nil {
			err = yield(r.at(i, j, float32(-r.opts.Base)))
		}
	})
	if err != nil {
		return err
	}
	return yield(r.middle())
}

func (r *Relief) triangles(ctx context.Context, yield func(a, b, c int) error) error {
	m := r.mesh
	tx, ty := m.tiles()
	for row := range ty {
		for i := range tx {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := m.walk(i, row, func(t tri) error {
				return yield(m.index(t.ax, t.ay), m.index(t.bx, t.by), m.index(t.cx, t.cy))
			}); err != nil {
				return err
			}
		}
	}
	high := make([]int, 0, r.rim)
	m.rim(func(i, j int) { high = append(high, m.index(i, j)) })
	first := m.count()
	return sides(r.rim, func(v [3]rimVertex) error {
		var n [3]int
		for k, s := range v {
			switch {
			case s.centre:
				n[k] = first + r.rim
			case s.high:
				n[k] = high[s.k]
			default:
				n[k] = first + s.k
			}
		}
		return yield(n[0], n[1], n[2])
	})
}

// rimVertex is a vertex of the sides or the underside: on the rim of the upper
// side, below it, or the middle of the underside.
type rimVertex struct {
	k            int
	high, centre bool
}

// sides yields the triangles of the sides and the underside.
func sides(rim int, yield func([3]rimVertex) error) error {
	for k := range rim {
		n := (k + 1) % rim
		low, lowNext := rimVertex{k: k}, rimVertex{k: n}
		high, highNext := rimVertex{k: k, high: true}, rimVertex{k: n, high: true}
		for _, t := range [3][3]rimVertex{{low, lowNext, highNext}, {low, highNext, high}, {{centre: true}, lowNext, low}} {
			if err := yield(t); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r *Relief) facets(ctx context.Context, yield func(facet) error) error {
	m := r.mesh
	tx, _ := m.tiles()
	heights := map[[2]int]float32{} // on the rim
	err := r.rows(ctx, func(row int, f *surface.Field) error {
		y0 := row * square
		for i := range tx {
			if err := m.walk(i, row, func(t tri) error {
				var out facet
				for k, p := range [3][2]int{{t.ax, t.ay}, {t.bx, t.by}, {t.cx, t.cy}} {
					z := f.Z[(p[1]-y0)*f.Stride+p[0]]
					out[k] = r.at(p[0], p[1], z)
					if p[0] == 0 || p[1] == 0 || p[0] == m.nx || p[1] == m.ny {
						heights[p] = z
					}
				}
				return yield(out)
			}); err != nil {
				return err
			}
		}
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	rim := make([][2]int, 0, r.rim)
	m.rim(func(i, j int) { rim = append(rim, [2]int{i, j}) })
	return sides(r.rim, func(v [3]rimVertex) error {
		var out facet
		for k, s := range v {
			switch p := rim[s.k]; {
			case s.centre:
				out[k] = r.middle()
			case s.high:
				out[k] = r.at(p[0], p[1], heights[p])
			default:
				out[k] = r.at(p[0], p[1], float32(-r.opts.Base))
			}
		}
		return yield(out)
	})
}
