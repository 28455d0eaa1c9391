package surface

import "gonum.org/v1/gonum/spatial/r2"

// CarveNear lowers f as Carve does, on the calling goroutine and without a look
// at the rest of the field: for one cut after another on a ground that is asked
// about in between. top returns a height, mm, that no ground within the V's reach
// of the way from a to b stands above. f must have come from NewField.
func (k *Carver) CarveNear(f *Field, top func(a, b r2.Vec) float64) {
	r := k.raster(f.Grid, 0, f.Ny, f.Stride, f.Z, nil)
	for n, s := range k.strips {
		a, b := k.tips[s.first], k.tips[s.first+1]
		r.strip(int32(n), r.tip(a), r.tip(b), top(r2.Vec{X: a.x, Y: a.y}, r2.Vec{X: b.x, Y: b.y}))
	}
}
