package blank

import (
	"fmt"
	"math"

	"brightcut/fault"
	"gonum.org/v1/gonum/spatial/r2"
)

// TruingChuck tilts the work: by three or four screws that bear on its back, or
// on two crossed axes. Give Screws or Axes, not both.
type TruingChuck struct {
	Screws []Screw
	Axes   []Axis
	// Division is into how many parts of a turn the hand can set a screw.
	Division int
}

// Screw bears on the back of the work. Of four, each stands opposite another
// across the centre at the same radius.
type Screw struct {
	Name   string  // "" is its number
	Radius float64 // from the chuck's centre, mm
	Angle  float64 // of its place, rad from x in the frame of the work
	Pitch  float64 // mm a turn
	Lowers bool    // turned clockwise it lowers the work; as a rule it raises it
}

// Axis is a hinge through the chuck's centre, tilted by a screw at the end of an arm.
type Axis struct {
	Name   string
	Along  float64 // direction of the hinge, rad from x in the frame of the work
	Arm    float64 // from the hinge to the screw, on the left of Along, mm
	Pitch  float64 // mm a turn
	Lowers bool    // turned clockwise the screw lowers its end of the arm
}

// maxDivision bounds what a hand is taken to be able to set: a thousandth of a turn.
const maxDivision = 1000

// Check reports what is wrong with the chuck, field by field.
func (c TruingChuck) Check() fault.List {
	var list fault.List
	add := func(field, problem, mend string) {
		list = append(list, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	within := func(field string, v, from, to float64) bool {
		if !(v >= from && v <= to) {
			add(field, fmt.Sprintf("%s mm is no such length", short(v)), fmt.Sprintf("give it in mm, from %s to %s", short(from), short(to)))
			return false
		}
		return true
	}
	finite := func(field string, v float64) bool {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			add(field, "it is not a finite number", "give an angle")
			return false
		}
		return true
	}
	if c.Division < 1 || c.Division > maxDivision {
		add("division", fmt.Sprintf("a turn cannot be set in %d parts", c.Division), fmt.Sprintf("give a whole number from 1 to %d, such as 16", maxDivision))
	}
	good := true
	for i, s := range c.Screws {
		field := fmt.Sprintf("screws[%d].", i)
		good = within(field+"radius", s.Radius, 1, 1000) && good
		good = within(field+"pitch", s.Pitch, 0.01, 10) && good
		good = finite(field+"angle", s.Angle) && good
	}
	for i, a := range c.Axes {
		field := fmt.Sprintf("axes[%d].", i)
		good = within(field+"arm", a.Arm, 1, 1000) && good
		good = within(field+"pitch", a.Pitch, 0.01, 10) && good
		good = finite(field+"along", a.Along) && good
	}
	switch {
	case len(c.Screws) > 0 && len(c.Axes) > 0:
		add("axes", "the chuck has both screws and axes", "give the one or the other")
	case len(c.Screws) == 0 && len(c.Axes) == 0:
		add("screws", "the chuck has nothing to tilt the work by", "give three or four screws, or two crossed axes")
	case len(c.Axes) > 0 && len(c.Axes) != 2:
		add("axes", fmt.Sprintf("there are %d", len(c.Axes)), "two crossed axes tilt the work every way")
	case len(c.Screws) > 0 && len(c.Screws) != 3 && len(c.Screws) != 4:
		add("screws", fmt.Sprintf("there are %d", len(c.Screws)), "three or four screws can be reckoned with")
	case !good:
	case len(c.Axes) == 2:
		if math.Abs(math.Sin(c.Axes[0].Along-c.Axes[1].Along)) < math.Sin(10*math.Pi/180) {
			add("axes[1].along", "the two axes run nearly the same way", "they cross at 10° or more, best at 90°")
		}
	case len(c.Screws) == 3:
		a, b, d := c.Screws[0].place(), c.Screws[1].place(), c.Screws[2].place()
		side := max(r2.Norm(r2.Sub(a, b)), r2.Norm(r2.Sub(b, d)), r2.Norm(r2.Sub(a, d)))
		if math.Abs(r2.Cross(r2.Sub(b, a), r2.Sub(d, a))) < 0.05*side*side {
			add("screws", "the three screws stand nearly in one line", "space them round the chuck")
		}
	default:
		if pairs := c.pairs(); pairs == nil {
			add("screws", "they do not stand in two pairs across the centre", "of four screws each has one opposite it at the same radius and pitch; otherwise reckon with three")
		} else if a, b := c.Screws[pairs[0][0]].place(), c.Screws[pairs[1][0]].place(); math.Abs(r2.Cross(a, b)) < 0.17*r2.Norm(a)*r2.Norm(b) {
			add("screws", "the two pairs run nearly the same way", "space them round the chuck")
		}
	}
	return list
}

func (s Screw) place() r2.Vec {
	sin, cos := math.Sincos(s.Angle)
	return r2.Vec{X: s.Radius * cos, Y: s.Radius * sin}
}

// end is where the arm's screw stands.
func (a Axis) end() r2.Vec {
	sin, cos := math.Sincos(a.Along)
	return r2.Vec{X: -a.Arm * sin, Y: a.Arm * cos}
}

// pairs returns the two opposed pairs of four screws, or nil.
func (c TruingChuck) pairs() [][2]int {
	opposed := func(i, j int) bool {
		a, b := c.Screws[i], c.Screws[j]
		return r2.Norm(r2.Add(a.place(), b.place())) < 0.02*a.Radius && math.Abs(a.Pitch-b.Pitch) < 1e-9
	}
	for j := 1; j < 4; j++ {
		rest := make([]int, 0, 2)
		for k := 1; k < 4; k++ {
			if k != j {
				rest = append(rest, k)
			}
		}
		if opposed(0, j) && opposed(rest[0], rest[1]) {
			return [][2]int{{0, j}, {rest[0], rest[1]}}
		}
	}
	return nil
}
