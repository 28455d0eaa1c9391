package blank

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"brightcut/fault"
	"gonum.org/v1/gonum/spatial/r2"
)

// Fit says by what the best plane is judged.
type Fit int

// The ways to judge a plane.
const (
	BySquares Fit = iota + 1 // least sum of squared deviations
	ByWorst                  // least worst deviation
)

// TruingOptions say what is to be trued, and how.
type TruingOptions struct {
	Chuck   TruingChuck
	Nominal Nominal // form of the work; the zero Nominal is flat
	Field   *Field  // readings outside it are left out of the plane; nil takes all
	Fit     Fit     // 0 is BySquares
	Raise   bool    // bring the plane to height 0 too (three screws); otherwise the height over the centre stays
	Reading float64 // standard uncertainty of a reading, mm; 0 is DefaultReading
}

// DefaultReading is the standard uncertainty of a reading when none is known: a
// dial of hundredths read to half a division, taken as even over it, 5 µm/√3
// (common practice, no source; the rule is JCGM 100:2008, 4.3.7).
const DefaultReading = 0.003

// Truing says how far the work is out of true, how to turn the chuck's screws
// against it, and what the dial should show afterwards.
type Truing struct {
	Used    int   // readings in the field
	Plane   Plane // of the work as it was read, form taken out
	Fit     Fit
	Before  Flatness // of the readings in the field against level
	Best    Flatness // against Plane: what no tilt removes
	After   Flatness // against level through their mean, after the turns
	Turns   []Turn
	Change  Plane     // what the turns add to every height
	Expect  []Reading // all readings, after the turns
	Left    r2.Vec    // slope that whole parts of a turn leave, mm/mm
	Sure    bool      // the tilt is more than twice its uncertainty
	Remarks []string
}

// Turn is what one screw is to be turned.
type Turn struct {
	Screw string
	Parts int     // of the chuck's division; above 0 raises the work there
	Rise  float64 // what they give, mm
	Exact float64 // what would be wanted, mm
	Text  string  // in words: "screw 2 (120°): 3/16 turn clockwise, raises the work there by 0.094 mm"
}

// maxTilt is where the small-angle rule ends: its error, a third of tan³, is
// then 0.3 % of the tilt.
const maxTilt = 0.1

// True finds the tilt of the work from readings and the turns that take it out.
// Heights change by the plane through the screws' rises, which is exact but for
// the cosine of the tilt.
//
// The error is a fault.List when the chuck or the form is wrong, too few
// readings lie in the field, or the tilt is beyond 0.1 rad and so no matter for
// truing screws.
func (rs *Readings) True(opts TruingOptions) (*Truing, error) {
	var faults fault.List
	for _, part := range []struct {
		name string
		list fault.List
	}{{"chuck.", opts.Chuck.Check()}, {"nominal.", opts.Nominal.Check()}} {
		for _, f := range part.list {
			f.Field = part.name + f.Field
			faults = append(faults, f)
		}
	}
	if len(faults) > 0 {
		return nil, faults
	}
	surface := opts.Nominal.Surface()
	var used []Reading
	beyond := 0
	for _, r := range rs.Points {
		z, _, _, ok := surface.Height(r.Place)
		if !ok {
			beyond++
			continue
		}
		if opts.Field != nil && opts.Field.Distance(r.Place) > 0 {
			continue
		}
		r.Z -= z
		used = append(used, r)
	}
	if !settles(used) {
		return nil, fault.List{{Origin: fault.Origin{File: rs.Name},
			Problem: fmt.Sprintf("of %d places %d lie in the field, fewer than three or in one line: they tell no tilt", len(rs.Points), len(used)),
			Mend:    "read three places or more in the field, apart in both directions"}}
	}
	t := &Truing{Used: len(used), Fit: cmp.Or(opts.Fit, BySquares)}
	var err error
	if t.Fit == ByWorst {
		t.Plane, _, err = LeastWorst(used, cmp.Or(opts.Reading, DefaultReading))
	} else {
		t.Plane, err = LeastSquares(used)
	}
	if err != nil {
		return nil, fmt.Errorf("truing %s: %w", rs.Name, err)
	}
	slope, uncertain, _ := t.Plane.Tilt()
	if slope > maxTilt {
		return nil, fault.List{{Origin: fault.Origin{File: rs.Name},
			Problem: fmt.Sprintf("the work stands %.1f° out of level", math.Atan(slope)*180/math.Pi),
			Mend:    "look at the unit of z, or set the work level by eye first"}}
	}
	t.Sure = slope > 2*uncertain
	if !t.Sure {
		t.Remarks = append(t.Remarks, fmt.Sprintf("The tilt, %.2g mm in 10 mm, is no more than twice its uncertainty, %.1g mm: it may be bow and bumps alone. More readings would tell.", 10*slope, 10*uncertain))
	}
	if beyond > 0 {
		t.Remarks = append(t.Remarks, fmt.Sprintf("%d readings lie where the form has no surface and were left out.", beyond))
	}
	lift := 0.0
	if opts.Raise {
		if len(opts.Chuck.Screws) == 3 {
			lift = -t.Plane.Lift
		} else {
			t.Remarks = append(t.Remarks, "This chuck tilts about its centre and cannot raise the work; the height over the centre stays.")
		}
	}
	wanted := Plane{Lift: lift, Slope: r2.Scale(-1, t.Plane.Slope)}
	t.Change = t.turns(opts.Chuck, wanted)
	t.Left = r2.Add(t.Plane.Slope, t.Change.Slope)

	after := make([]Reading, len(used))
	for i, r := range used {
		r.Z += t.Change.At(r.Place)
		after[i] = r
	}
	t.Before = FlatnessOf(used, Plane{Lift: mean(used)})
	t.Best = FlatnessOf(used, t.Plane)
	t.After = FlatnessOf(after, Plane{Lift: mean(after)})
	for _, r := range rs.Points {
		r.Z += t.Change.At(r.Place)
		t.Expect = append(t.Expect, r)
	}
	return t, nil
}

func mean(points []Reading) float64 {
	var sum, count float64
	for _, r := range points {
		n := float64(max(1, r.Count))
		sum, count = sum+n*r.Z, count+n
	}
	return sum / count
}

// drive is one thing to be turned: raised by d it adds slope·d to the slope and
// lift·d to the height over the centre. follow is the screw that goes out as
// this one goes in, or −1.
type drive struct {
	at, follow int
	slope      r2.Vec
	lift       float64
	part       float64 // rise of one part of a turn
	exact      float64
}

// turns chooses whole parts of a turn: of the two neighbours of each exact
// value, those which together leave the least slope.
func (t *Truing) turns(c TruingChuck, wanted Plane) Plane {
	drives := c.drives(wanted)
	best, least := 0, math.Inf(1)
	parts := func(choice, k int) int {
		return int(math.Floor(drives[k].exact/drives[k].part)) + choice>>k&1
	}
	change := func(choice int) (p Plane) {
		for k, d := range drives {
			rise := float64(parts(choice, k)) * d.part
			p.Slope = r2.Add(p.Slope, r2.Scale(rise, d.slope))
			p.Lift += rise * d.lift
		}
		return p
	}
	// A height wrong by one part matters as much as a slope that is wrong by it
	// at the screws' radius.
	var reach float64
	for _, d := range drives {
		reach = max(reach, 1/r2.Norm(d.slope))
	}
	for choice := range 1 << len(drives) {
		p := change(choice)
		wrong := reach * r2.Norm(r2.Sub(p.Slope, wanted.Slope))
		if len(c.Screws) == 3 {
			wrong = math.Hypot(wrong, p.Lift-wanted.Lift)
		}
		if wrong < least-1e-12 {
			best, least = choice, wrong
		}
	}
	for k, d := range drives {
		n := parts(best, k)
		t.Turns = append(t.Turns, c.turn(d.at, n, float64(n)*d.part, d.exact))
		if d.follow >= 0 {
			t.Turns = append(t.Turns, c.turn(d.follow, -n, -float64(n)*d.part, -d.exact))
		}
	}
	if len(c.Screws) == 4 {
		t.Remarks = append(t.Remarks, "Of two opposed screws back the falling one off first, then bring the other up by the same.")
	}
	return change(best)
}

// drives reckons what each screw gives and should give.
func (c TruingChuck) drives(wanted Plane) []drive {
	var drives []drive
	part := func(pitch float64) float64 { return pitch / float64(c.Division) }
	switch {
	case len(c.Axes) == 2:
		// A rise d at the arm's end tilts by d/arm about the hinge; the two
		// together make the slope.
		var n [2]r2.Vec
		for i, a := range c.Axes {
			n[i] = r2.Scale(1/(a.Arm*a.Arm), a.end())
		}
		det := r2.Cross(n[0], n[1])
		exact := [2]float64{r2.Cross(wanted.Slope, n[1]) / det, r2.Cross(n[0], wanted.Slope) / det}
		for i, a := range c.Axes {
			drives = append(drives, drive{i, -1, n[i], 0, part(a.Pitch), exact[i]})
		}
	case len(c.Screws) == 4:
		pairs := c.pairs()
		var q [2]r2.Vec
		for i, pair := range pairs {
			q[i] = c.Screws[pair[0]].place()
		}
		det := r2.Cross(q[0], q[1])
		for i, pair := range pairs {
			// The slope that lifts this pair by one and the other not at all.
			other := q[1-i]
			slope := r2.Scale(1/det, r2.Vec{X: other.Y, Y: -other.X})
			if i == 1 {
				slope = r2.Scale(-1, slope)
			}
			drives = append(drives, drive{pair[0], pair[1], slope, 0, part(c.Screws[pair[0]].Pitch), r2.Dot(wanted.Slope, q[i])})
		}
	default:
		for i, s := range c.Screws {
			a, b := c.Screws[(i+1)%3].place(), c.Screws[(i+2)%3].place()
			p := s.place()
			// The plane that is 1 at this screw and 0 at the others.
			area := r2.Cross(r2.Sub(a, p), r2.Sub(b, p))
			side := r2.Sub(b, a)
			slope := r2.Scale(1/area, r2.Vec{X: -side.Y, Y: side.X})
			drives = append(drives, drive{i, -1, slope, r2.Cross(a, b) / area, part(s.Pitch), wanted.At(p)})
		}
	}
	return drives
}

// turn puts a turn into words.
func (c TruingChuck) turn(at, parts int, rise, exact float64) Turn {
	t := Turn{Parts: parts, Rise: rise, Exact: exact}
	var lowers bool
	var where string
	if len(c.Axes) > 0 {
		a := c.Axes[at]
		t.Screw, lowers = cmp.Or(a.Name, fmt.Sprintf("axis %d", at+1)), a.Lowers
		where = "its end of the arm"
	} else {
		s := c.Screws[at]
		t.Screw, lowers = cmp.Or(s.Name, fmt.Sprintf("screw %d", at+1)), s.Lowers
		t.Screw += fmt.Sprintf(" (%s°)", short(math.Mod(math.Round(s.Angle*180/math.Pi*100)/100, 360)))
		where = "the work there"
	}
	if parts == 0 {
		t.Text = t.Screw + ": leave it"
		return t
	}
	way, verb := "clockwise", "raises"
	if parts < 0 != lowers {
		way = "anticlockwise"
	}
	if parts < 0 {
		verb = "lowers"
	}
	t.Text = fmt.Sprintf("%s: %s %s, %s %s by %.3f mm", t.Screw, turnsText(parts, c.Division), way, verb, where, math.Abs(rise))
	return t
}

// turnsText writes a count of parts of a turn: "1 3/16 turns".
func turnsText(parts, division int) string {
	if parts < 0 {
		parts = -parts
	}
	whole, rest := parts/division, parts%division
	var words []string
	if whole > 0 {
		words = append(words, fmt.Sprint(whole))
	}
	if rest > 0 {
		g := gcd(rest, division)
		words = append(words, fmt.Sprintf("%d/%d", rest/g, division/g))
	}
	unit := "turn"
	if parts > division {
		unit = "turns"
	}
	return strings.Join(words, " ") + " " + unit
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
