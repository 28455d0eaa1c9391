package blank

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
)

// What Check takes at most.
const (
	MostPoints    = 10_000  // corners of one Polygon
	MostAllPoints = 100_000 // corners of all of them
	MostWindows   = 1_000   // windows and shapes kept clear together
	largest       = 2_000.0 // mm: no blank or place on it lies farther
	thickest      = 500.0   // mm
)

// Check returns everything that keeps the blank from being cut. Fields are
// named as in a job file: "thickness", "outline.corner", "windows[0].border",
// "keep_clear[1].points[3]".
func (b *Blank) Check() fault.List {
	c := &checker{}
	if !(b.Thickness > 0 && b.Thickness <= thickest) {
		c.add("thickness", fmt.Sprintf("a blank %s mm thick cannot be held", short(b.Thickness)),
			"give a thickness above 0, up to 500 mm")
	}
	for _, f := range b.Nominal.Check() {
		f.Field = "nominal." + f.Field
		c.faults = append(c.faults, f)
	}
	outlined := c.shape("outline", b.Outline)
	bordered := c.border("border", b.Border)
	if outlined && bordered && b.field(b.Border).empty() {
		c.add("border", fmt.Sprintf("a border of %s mm leaves nothing of the outline to cut", short(b.Border)),
			"make the border narrower or the blank larger")
		bordered = false
	}
	if n := len(b.Windows) + len(b.KeepClear); n > MostWindows {
		c.add("windows", fmt.Sprintf("%d windows and shapes kept clear are more than the %d allowed", n, MostWindows),
			"leave out those that no cut comes near")
		return c.faults
	}
	rim := newRim(b.Outline, outlined)
	before := len(c.faults)
	c.windows("windows", b.Windows, rim)
	c.windows("keep_clear", b.KeepClear, rim)
	if outlined && bordered && len(c.faults) == before && len(b.Windows)+len(b.KeepClear) > 0 && b.Field().empty() {
		field := "windows"
		if len(b.Windows) == 0 {
			field = "keep_clear"
		}
		c.add(field, "the windows and the ground kept clear, with their borders, leave nothing to cut",
			"make them or their borders smaller")
	}
	return c.faults
}

// checker gathers faults.
type checker struct {
	faults fault.List
	points int
}

func (c *checker) add(field, problem, mend string) {
	c.faults = append(c.faults, fault.Fault{Field: field, Problem: problem, Mend: mend})
}

func (c *checker) windows(field string, windows []Window, rim *rim) {
	for i, w := range windows {
		at := fmt.Sprintf("%s[%d]", field, i)
		sound := c.shape(at, w.Shape)
		c.border(at+".border", w.Border)
		if sound && rim != nil && !rim.touches(w.Shape) {
			c.add(at+".centre", "it lies wholly outside the outline",
				"move it onto the blank; centres are measured from the middle of the chuck")
		}
	}
}

// border reports whether the width of a border can be used.
func (c *checker) border(field string, width float64) bool {
	if width >= 0 && width <= largest {
		return true
	}
	c.add(field, fmt.Sprintf("a border of %s mm cannot be kept", short(width)), "give a width of 0 or more, up to 2000 mm")
	return false
}

// shape reports whether the shape can be used.
func (c *checker) shape(field string, s Shape) bool {
	before := len(c.faults)
	if !(math.Abs(s.Centre.X) <= largest && math.Abs(s.Centre.Y) <= largest) {
		c.add(field+".centre", fmt.Sprintf("a centre at (%s, %s) mm is off every engine", short(s.Centre.X), short(s.Centre.Y)),
			"give two numbers within 2000 mm of the middle of the chuck")
	}
	switch s.Form {
	case Disc:
		c.size(field+".diameter", s.Diameter)
	case Ring:
		if c.size(field+".diameter", s.Diameter) && c.size(field+".inner", s.Inner) && s.Inner >= s.Diameter {
			c.add(field+".inner", fmt.Sprintf("the hole of %s mm is as large as the ring, which is %s mm across", short(s.Inner), short(s.Diameter)),
				fmt.Sprintf("give an inner diameter between 0 and %s mm", short(s.Diameter)))
		}
	case Rectangle:
		sided := c.size(field+".width", s.Width)
		sided = c.size(field+".height", s.Height) && sided
		// Half the shorter side, with room for the rounding of units.
		room := min(s.Width, s.Height) / 2 * (1 + 1e-12)
		if sided && !(s.Corner >= 0 && s.Corner <= room) {
			c.add(field+".corner", fmt.Sprintf("a corner radius of %s mm does not fit a rectangle of %s by %s mm", short(s.Corner), short(s.Width), short(s.Height)),
				fmt.Sprintf("give a corner from 0 to half the shorter side, %s mm", short(min(s.Width, s.Height)/2)))
		}
		if !(math.Abs(s.Angle) <= 1000*2*math.Pi) {
			c.add(field+".angle", "it is not an angle that can be set", "give the turn of the rectangle in degrees, counter-clockwise")
		}
	case Polygon:
		c.polygon(field+".points", s.Points)
	default:
		c.add(field+".shape", "it has no shape", "write shape: disc, ring, rectangle or polygon")
	}
	return len(c.faults) == before
}

// size reports whether a length of the shape can be used.
func (c *checker) size(field string, v float64) bool {
	if v > 0 && v <= largest {
		return true
	}
	c.add(field, fmt.Sprintf("a size of %s mm cannot be made", short(v)), "give a length above 0, up to 2000 mm")
	return false
}

func (c *checker) polygon(field string, points []r2.Vec) {
	c.points += len(points)
	switch n := len(points); {
	case n < 3:
		c.add(field, fmt.Sprintf("%d points enclose no area", n), "give at least three corners, in order round the outline")
		return
	case n > MostPoints:
		c.add(field, fmt.Sprintf("%d points are more than the %d allowed", n, MostPoints), "draw the outline with fewer corners")
		return
	case c.points > MostAllPoints:
		c.add(field, fmt.Sprintf("with these points the blank has %d, more than the %d allowed", c.points, MostAllPoints), "draw the outlines with fewer corners")
		return
	}
	before := len(c.faults)
	for i, p := range points {
		at := fmt.Sprintf("%s[%d]", field, i)
		next := points[(i+1)%len(points)]
		switch {
		case !(math.Abs(p.X) <= largest && math.Abs(p.Y) <= largest):
			c.add(at, fmt.Sprintf("the corner (%s, %s) mm is off every engine", short(p.X), short(p.Y)), "give two numbers within 2000 mm")
		case p == next && i == len(points)-1:
			c.add(at, "the last corner repeats the first", "leave it out: the outline closes by itself")
		case p == next:
			c.add(at, "the next corner stands in the same place", "leave one of them out")
		}
		if len(c.faults)-before >= 20 {
			return // the rest is more of the same
		}
	}
	if len(c.faults) > before {
		return
	}
	if i, j, where, ok := newPolygon(points).selfContact(); ok {
		c.add(fmt.Sprintf("%s[%d]", field, i),
			fmt.Sprintf("the side from corner %d meets the side from corner %d near (%s, %s) mm", i+1, j+1, short(where.X), short(where.Y)),
			"give the corners in order round the outline, so that no two sides cross or touch")
	}
}

// short writes a number as a person would: six digits, no trailing zeros.
func short(v float64) string { return fmt.Sprintf("%.6g", v) }
