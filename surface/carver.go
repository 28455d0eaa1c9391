package surface

import (
	"fmt"
	"math"

	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/fault"
)

// Carver holds the paths of a list of cuts and the section of the cutter that
// follows them. It is safe for concurrent use.
type Carver struct {
	tips   []tip
	strips []strip
	pieces []piece
	vee    vee
}

// tip is a place of the cutter's tip, with the unit vector (ux, uy) along which
// the V lies.
type tip struct {
	x, y, z float64
	ux, uy  float64
}

// strip is what the cutter sweeps between tips[first] and tips[first+1]. Strip
// n has the facets 3n (left flank, against the V's direction), 3n+1 (tip flat)
// and 3n+2 (right flank).
type strip struct {
	first    int32
	piece    int32
	from, to float32 // turn of the path's direction from the strip's own to its ends, rad
}

// piece is a stretch of one cut: tips[first] to tips[last].
type piece struct {
	first, last int32
	cut         int32
	closed      bool
}

// MaxStrips is the greatest number of path segments one Carver takes; facets
// are numbered in 32 bits.
const MaxStrips = math.MaxInt32/3 - 1

// MaxPlace is how far from the work's centre a path may go, mm: a kilometre is
// surely a slip.
const MaxPlace = 1e6

// NewCarver prepares the cuts for carving with a cutter. A tip flat or an angle
// that is no V is returned as a fault.List; a path that leaves
// MaxPlace, as an error naming the cut.
func NewCarver(cuts []engine.Cut, c cutter.Cutter) (*Carver, error) {
	var faults fault.List
	if !(c.Included > 0 && c.Included < math.Pi) {
		faults = append(faults, fault.Fault{Field: "cutter.included",
			Problem: fmt.Sprintf("%v deg is not the angle of a V", c.Included*180/math.Pi),
			Mend:    "give the angle between the flanks, above 0 and below 180 deg"})
	}
	if !(c.Flat >= 0 && c.Flat <= MaxPlace) {
		faults = append(faults, fault.Fault{Field: "cutter.flat",
			Problem: fmt.Sprintf("%v mm is not the width of a tip", c.Flat),
			Mend:    "give the width of the tip flat, 0 for a sharp tip"})
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	n, m := 0, 0
	for i := range cuts {
		for j := range cuts[i].Pieces {
			n += len(cuts[i].Pieces[j].Path) + 1
			m++
		}
	}
	if n > MaxStrips {
		return nil, fmt.Errorf("surface: the cuts have %d places of the tip, more than the %d that can be carved at once", n, MaxStrips)
	}
	sin, cos := math.Sincos(c.Half())
	k := &Carver{
		tips:   make([]tip, 0, n),
		strips: make([]strip, 0, n),
		pieces: make([]piece, 0, m),
		vee:    vee{half: c.Flat / 2, cot: cos / sin, tan: sin / cos},
	}
	for i := range cuts {
		for j := range cuts[i].Pieces {
			if err := k.add(&cuts[i].Pieces[j], cuts[i].Number); err != nil {
				return nil, err
			}
		}
	}
	return k, nil
}

// sameplace is how near the ends of a ring, mm, are taken as one place: far below
// any cut, far above the rounding of a cosine.
const sameplace = 1e-9

// same is how near two places of a path, mm, are one but for rounding.
const same = 1e-9

// add takes in one piece of a cut.
func (k *Carver) add(p *engine.Piece, number int) error {
	if len(p.Path) < 2 {
		return nil // a touch of the tip sweeps nothing
	}
	first := int32(len(k.tips))
	for i, v := range p.Path {
		if !finite(v.Across) || !(max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)) <= MaxPlace) {
			return fmt.Errorf("surface: cut %d: place %d of the path, (%v, %v, %v) across %v, is no place on the work", number, i+1, v.X, v.Y, v.Z, v.Across)
		}
		k.tips = append(k.tips, newTip(v))
	}
	if a, b := p.Path[0], p.Path[len(p.Path)-1]; p.Closed && math.Hypot(a.X-b.X, a.Y-b.Y) > sameplace {
		k.tips = append(k.tips, newTip(a))
	}
	last := int32(len(k.tips) - 1)
	for i := first; i < last; i++ {
		k.strips = append(k.strips, strip{first: i, piece: int32(len(k.pieces))})
	}
	k.pieces = append(k.pieces, piece{first: first, last: last, cut: int32(number), closed: p.Closed})
	k.bendPath()
	return nil
}

func newTip(v engine.Vertex) tip {
	sin, cos := math.Sincos(v.Across)
	return tip{x: v.X, y: v.Y, z: v.Z, ux: cos, uy: sin}
}

// Cut returns the number of the cut whose flank a facet is.
func (k *Carver) Cut(facet int32) int {
	return int(k.pieces[k.strips[facet/3].piece].cut)
}
