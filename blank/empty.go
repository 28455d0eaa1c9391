package blank

import "gonum.org/v1/gonum/spatial/r2"

// Search limits of empty: the field must hold a point farther from its edge than
// this share of its size, and is looked for in at most so many squares.
const (
	smallestField = 1e-4
	mostSquares   = 1 << 18
)

// empty says whether the field holds no ground worth the name. Squares that by
// the bound on the distance cannot hold a point of the field are dropped, the
// rest are quartered.
func (f *Field) empty() bool {
	box := f.bounds
	size := max(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y)
	if !(size > 0) {
		return true
	}
	least := size * smallestField
	half := size / 2
	squares := []r2.Vec{r2.Scale(0.5, r2.Add(box.Min, box.Max))}
	for seen := 0; len(squares) > 0 && half > least/2; half /= 2 {
		var next []r2.Vec
		for _, c := range squares {
			d := f.Distance(c)
			if d < -least {
				return false
			}
			if d >= length(half, half)-least {
				continue
			}
			q := half / 2
			next = append(next,
				r2.Vec{X: c.X - q, Y: c.Y - q}, r2.Vec{X: c.X + q, Y: c.Y - q},
				r2.Vec{X: c.X - q, Y: c.Y + q}, r2.Vec{X: c.X + q, Y: c.Y + q})
		}
		if seen += len(next); seen > mostSquares {
			return false // too finely divided to tell; the cuts will show
		}
		squares = next
	}
	return true
}
