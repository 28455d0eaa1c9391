package tracing

import (
	"fmt"
	"math"
	"sort"

	"brightcut/bar"
)

// heights are the heights h of an edge over ascending places x, joined by straight
// lines: mm over mm, or mm over rad.
type heights struct{ x, h []float64 }

func (c *heights) add(x, h float64) { c.x, c.h = append(c.x, x), append(c.h, h) }
func (c *heights) first() float64   { return c.x[0] }
func (c *heights) last() float64    { return c.x[len(c.x)-1] }
func (c *heights) span() float64    { return c.last() - c.first() }

// at returns the height over x, that of the end beyond it.
func (c *heights) at(x float64) float64 {
	i := sort.SearchFloat64s(c.x, x)
	switch {
	case i == 0:
		return c.h[0]
	case i == len(c.x):
		return c.h[i-1]
	}
	return c.h[i-1] + (c.h[i]-c.h[i-1])*((x-c.x[i-1])/(c.x[i]-c.x[i-1]))
}

func (c *heights) extremes() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, h := range c.h {
		low, high = min(low, h), max(high, h)
	}
	return low, high
}

// part returns what lies between two places, its ends included.
func (c *heights) part(from, to float64) heights {
	var out heights
	out.add(from, c.at(from))
	for i, x := range c.x {
		if x > from+same*(to-from) && x < to-same*(to-from) {
			out.add(x, c.h[i])
		}
	}
	out.add(to, c.at(to))
	return out
}

// steepest is the steepest flank that is kept, somewhat less than bar.Check takes:
// an upright step becomes a flank that steep.
var steepest = math.Tan(bar.SteepestFlank) * 0.8

// nearest is how near two points may stand along the edge, mm.
const nearest = 1e-4

// bend is a place where what is drawn is no function of the place along the edge.
type bend struct {
	from, to float64 // mm or rad
	height   float64
	upright  bool
	need     float64 // mm by which a wall would have to move to become a flank
}

// ascend makes heights of corners that should ascend. unit is the mm along the edge
// of one unit of x. Steps back or upright that a shift of no more than tolerance
// mends are mended and counted; the others are returned.
func ascend(c []Point, unit, tolerance float64) (out heights, mended int, bends []bend) {
	for i, p := range c {
		n := len(out.x)
		if n == 0 {
			out.add(p.X, p.Y)
			continue
		}
		x, h := out.x[n-1], out.h[n-1]
		step := (p.X - x) * unit
		rise := math.Abs(p.Y - h)
		need := max(rise/steepest, nearest)
		switch {
		case step >= need:
			out.add(p.X, p.Y)
		case need-step <= tolerance:
			if step < -same || rise > tolerance {
				mended++
			}
			if rise > tolerance/4 || i == len(c)-1 {
				out.add(x+need/unit, p.Y)
			}
		case step < -tolerance:
			if m := len(bends); m > 0 && !bends[m-1].upright && p.X <= bends[m-1].to {
				bends[m-1].from = min(bends[m-1].from, p.X)
			} else {
				bends = append(bends, bend{p.X, x, h, false, 0})
			}
		default:
			if m := len(bends); m == 0 || p.X > bends[m-1].to {
				bends = append(bends, bend{x, x, h, true, need - step})
			}
			out.add(x+need/unit, p.Y)
		}
	}
	return out, mended, bends
}

func (b bend) String() string {
	if b.upright {
		return "it stands upright"
	}
	return "it doubles back"
}

// along tells a place along a bar, mm, or round a rosette.
func along(x float64, polar bool) string {
	if polar {
		return fmt.Sprintf("%.3f deg", x*180/math.Pi)
	}
	return fmt.Sprintf("x %.4f mm", x)
}
