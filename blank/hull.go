package blank

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// hull returns the convex hull of the places, counter-clockwise (Andrew's
// monotone chain).
func hull(points []Reading) []r2.Vec {
	places := make([]r2.Vec, len(points))
	for i, r := range points {
		places[i] = r.Place
	}
	slices.SortFunc(places, func(a, b r2.Vec) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	places = slices.Compact(places)
	if len(places) < 3 {
		return places
	}
	half := func(to []r2.Vec, from int, p r2.Vec) []r2.Vec {
		for len(to)-from >= 2 && r2.Cross(r2.Sub(to[len(to)-1], to[len(to)-2]), r2.Sub(p, to[len(to)-2])) <= 0 {
			to = to[:len(to)-1]
		}
		return append(to, p)
	}
	var chain []r2.Vec
	for _, p := range places {
		chain = half(chain, 0, p)
	}
	turn := len(chain) - 1
	for i := len(places) - 2; i >= 0; i-- {
		chain = half(chain, turn, places[i])
	}
	return chain[:len(chain)-1]
}

// area of a polygon, mm².
func area(points []r2.Vec) (a float64) {
	for i, p := range points {
		a += r2.Cross(p, points[(i+1)%len(points)])
	}
	return math.Abs(a) / 2
}

// spreadOut picks at most n readings that lie as far from one another as may
// be: each next one is the farthest from those picked (Gonzalez 1985).
func spreadOut(points []Reading, n int) []Reading {
	if len(points) <= n {
		return points
	}
	far := make([]float64, len(points))
	for i := range far {
		far[i] = math.Inf(1)
	}
	next := 0
	picked := make([]Reading, 0, n)
	for len(picked) < n {
		p := points[next]
		picked = append(picked, p)
		next = 0
		for i := range points {
			far[i] = min(far[i], r2.Norm2(r2.Sub(points[i].Place, p.Place)))
			if far[i] > far[next] {
				next = i
			}
		}
	}
	return picked
}
