package surface

import (
	"cmp"
	"context"
	"math"
	"slices"

	"brightcut/engine"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	// profileLines is how many lines the R figures are the mean of.
	profileLines = 9
	// profileReach is how far the profile runs to either side, mm. Four
	// millimetres in all is the evaluation length that ISO 21920-3 sets for
	// features 0.13 to 0.4 mm apart (from memory).
	profileReach = 2
	// profileSteps to the millimetre: 1 µm, so that a crest 0.1 mm from the
	// next is met within half a percent of its height.
	profileSteps = 1000
)

// across returns the median figures of profileLines lines across the middle cut,
// and the mean length of the lines. A median, because a line that happens to lie
// in the valley of a crossing cut is nearly flat, and its kurtosis means nothing.
func (k *Carver) across(ctx context.Context, cuts []engine.Cut, in Region) (p Profile, length float64, err error) {
	path := middlePath(cuts, in)
	var lines []Profile
	for n := range profileLines {
		// Steps of the golden section never fall in with a repeat of the pattern.
		_, share := math.Modf((float64(n) + 0.5) * (math.Sqrt(5) - 1) / 2)
		at, across, ok := along(path, share)
		if !ok || in.Distance(at) >= 0 {
			continue
		}
		a, b := march(in, at, across, -profileReach), march(in, at, across, profileReach)
		l := r2.Norm(r2.Sub(b, a))
		if !(l > 0) {
			continue
		}
		z, err := k.Section(ctx, a, b, max(sections+1, int(l*profileSteps)))
		if err != nil {
			return Profile{}, 0, err
		}
		lines = append(lines, ProfileOf(z))
		length += l
	}
	if len(lines) == 0 {
		return Profile{}, 0, nil
	}
	median := func(of func(Profile) float64) float64 {
		slices.SortFunc(lines, func(a, b Profile) int { return cmp.Compare(of(a), of(b)) })
		return of(lines[len(lines)/2])
	}
	return Profile{
		Ra:  median(func(p Profile) float64 { return p.Ra }),
		Rq:  median(func(p Profile) float64 { return p.Rq }),
		Rz:  median(func(p Profile) float64 { return p.Rz }),
		Rt:  median(func(p Profile) float64 { return p.Rt }),
		Rsk: median(func(p Profile) float64 { return p.Rsk }),
		Rku: median(func(p Profile) float64 { return p.Rku }),
	}, length / float64(len(lines)), nil
}

// middlePath returns the longest piece of the cut nearest the middle of the
// sequence that is in the region; nil when none is.
func middlePath(cuts []engine.Cut, in Region) []engine.Vertex {
	for n := range len(cuts) + 1 {
		i := len(cuts)/2 + (n+1)/2*(1-n%2*2) // middle, one before, one after, …
		if i < 0 || i >= len(cuts) {
			continue
		}
		var path []engine.Vertex
		for j := range cuts[i].Pieces {
			if p := cuts[i].Pieces[j].Path; len(p) > len(path) {
				path = p
			}
		}
		if at, _, ok := along(path, 0.5); ok && in.Distance(at) < 0 {
			return path
		}
	}
	return nil
}

// along returns the place at a share of the path's length, and the direction of
// the V there.
func along(path []engine.Vertex, share float64) (at, across r2.Vec, ok bool) {
	p := engine.Piece{Path: path}
	left := p.Length() * share
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		if left > l || l == 0 {
			left -= l
			continue
		}
		s := left / l
		sin, cos := math.Sincos(mix(a.Across, b.Across, s))
		return r2.Vec{X: mix(a.X, b.X, s), Y: mix(a.Y, b.Y, s)}, r2.Vec{X: cos, Y: sin}, true
	}
	return at, across, false
}

// march goes from p along the unit vector u for a length l, or less where the
// region ends.
func march(in Region, p, u r2.Vec, l float64) r2.Vec {
	sign := math.Copysign(1, l)
	for s := 0.0; ; {
		q := r2.Add(p, r2.Scale(sign*s, u))
		d := -in.Distance(q)
		if d < 1e-6 || s >= math.Abs(l) {
			return q
		}
		s = min(s+d, math.Abs(l))
	}
}
