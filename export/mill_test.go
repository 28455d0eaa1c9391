package export

import (
	"errors"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/fault"
)

// TestToolPath holds the way of the cutter's middle against the outline by brute
// force: no place of it is nearer to the outline than the cutter's radius, and it
// cuts to the outline wherever a touchpiece as thick as the cutter reaches it, both
// within the tolerance.
func TestToolPath(t *testing.T) {
	for name, tm := range templates(t) {
		for _, R := range []float64{0.2, 0.75, 1.5} {
			path, _, err := tm.outerPath(R)
			if err != nil {
				t.Errorf("%s, R = %g: %v", name, R, err)
				continue
			}
			if path.Area() >= 0 {
				t.Errorf("%s: the way round runs counter-clockwise", name)
			}
			outline := tm.Outer.Points(tm.Tolerance / 10)
			near := index(outline, 2)
			deepest, reach := math.Inf(1), 0
			way := path.Points(tm.Tolerance / 10)
			for i, a := range way {
				b := way[(i+1)%len(way)]
				n := 1 + min(40, int(r2.Norm(r2.Sub(b, a))/0.01))
				for k := range n {
					deepest = min(deepest, near(r2.Add(a, r2.Scale(float64(k)/float64(n), r2.Sub(b, a))))-R)
				}
			}
			if deepest < -tm.Tolerance {
				t.Errorf("%s, R = %g: the cutter cuts %.4f mm into the outline", name, R, -deepest)
			}
			if inside(outline, way[0]) {
				t.Errorf("%s: the way begins inside the outline", name)
			}
			// The other way round: every place of the outline that is not left in a hollow.
			nearWay := index(way, 4)
			left := 0.0
			for i := 0; i < len(outline); i += 1 + len(outline)/4000 {
				reach++
				left = max(left, nearWay(outline[i])-R)
			}
			places, most := tm.unreached(R)
			allowed := tm.Tolerance + most
			if !tm.Rosette && tm.shape.Ends > 0 { // the flank of an end meets its top, and the edge, in a corner
				allowed += R * (1/math.Cos(endFlank/2) - 1) * 2
				allowed = max(allowed, 2*R)
			}
			if left > allowed+1e-6 {
				t.Errorf("%s, R = %g: %.4f mm of metal stay on the outline, %.4f expected in %d hollows (%d places)", name, R, left, allowed, places, reach)
			}
		}
	}
}

func milling() Milling {
	return Milling{Cutter: 1.5, Thickness: 3, Through: 0.2, Pass: 0.8, Feed: 300, Plunge: 80, Spindle: 12000, Safe: 4, Tabs: 3, TabWidth: 1.2, TabHeight: 0.6}
}

// TestMillByLinuxCNC runs the programs of every template through LinuxCNC's
// interpreter, in millimetres and inches: no error; every motion at feed below the
// sheet keeps the cutter off the piece; the outline is run at the depth of every
// pass; quick moves stay above the sheet; tabs stand where they are said to.
func TestMillByLinuxCNC(t *testing.T) {
	for name, tm := range templates(t) {
		for _, inch := range []bool{false, true} {
			m := milling()
			m.Inch = inch
			var s Summary
			path := file(t, "m.ngc", func(w *os.File) (err error) { s, err = Mill(w, tm, m); return err })
			motions := interpret(t, path, inch)
			slack := tm.Tolerance + 0.0005 // what is printed of the interpreter is rounded
			if inch {
				slack = tm.Tolerance + 0.004
			}
			outline := tm.Outer.Points(tm.Tolerance / 10)
			near := index(outline, 1)
			var holes []func(r2.Vec) float64
			for _, l := range tm.Inner {
				if tm.shape.KeyWidth > 0 && len(holes) == 0 {
					l = circle("", r2.Vec{}, tm.shape.Bore/2)
				}
				holes = append(holes, index(l.Points(1e-4), 1))
			}
			outer, _, err := tm.outerPath(m.Cutter / 2)
			if err != nil {
				t.Fatal(err)
			}
			var at [3]float64
			known := false
			length, low, lifted, around := 0.0, 0.0, 0, map[float64]float64{}
			for _, q := range motions {
				from, to := r2.Vec{X: at[0], Y: at[1]}, r2.Vec{X: q.to[0], Y: q.to[1]}
				z := min(at[2], q.to[2])
				flat := stretch{a: from, b: to}
				if q.arc.bulge != 0 {
					flat = q.arc
				}
				switch {
				case !q.feed && known && r2.Norm(r2.Sub(to, from)) > 0 && z < m.Safe-0.01:
					t.Fatalf("%s: a quick move to %v at the height %.3f", name, to, z)
				case q.feed && z < 0:
					length += math.Hypot(flat.length(), q.to[2]-at[2])
					low = min(low, z)
					if flat.length() > 0 {
						around[math.Round(q.to[2]*1e3)/1e3] += flat.length()
						if z > -m.Thickness {
							break // each pass goes the same way
						}
						n := 1 + int(min(8, flat.length()/0.05))
						for k := range n + 1 {
							p := flat.at(float64(k) / float64(n))
							d := near(p)
							for _, h := range holes {
								d = min(d, h(p))
							}
							if d < m.Cutter/2-slack {
								t.Fatalf("%s, inch %v: at %v the cutter cuts %.4f mm into the piece", name, inch, p, m.Cutter/2-d)
							}
						}
					} else if q.to[2] > at[2] && q.to[2] < 0 {
						lifted++
					}
				}
				at = q.to
				known = true
			}
			if math.Abs(low+m.Thickness+m.Through) > 0.003 {
				t.Errorf("%s: it cuts down to %.3f mm", name, low)
			}
			if math.Abs(length-s.Length) > 2e-3*s.Length {
				t.Errorf("%s, inch %v: the interpreter goes %.3f mm at feed, the summary says %.3f", name, inch, length, s.Length)
			}
			if want := 4; s.Counts["passes"] != want || lifted != m.Tabs { // 3.2 mm in 0.8; only the last lies below the tabs' top, 0.6 mm above the underside
				t.Errorf("%s: %d passes, %d lifts over tabs; want %d and %d", name, s.Counts["passes"], lifted, want, m.Tabs)
			}
			top := math.Round((-m.Thickness+m.TabHeight)*1e3) / 1e3
			if got, want := around[top], float64(m.Tabs)*(m.TabWidth+m.Cutter); !inch && math.Abs(got-want) > 0.01+0.01*want && math.Abs(top+0.8*3) > 1e-9 {
				t.Errorf("%s: the tabs are run over for %.3f mm, want %.3f", name, got, want)
			}
			holesRound := 0.0
			inner, _ := tm.innerPaths(m.Cutter / 2)
			for _, l := range inner {
				holesRound += l.Length()
			}
			if round := around[-0.8]; !inch && round < outer.Length()+holesRound {
				t.Errorf("%s: the first pass goes %.3f mm, and round it are %.3f", name, round, outer.Length()+holesRound)
			}
		}
	}
}

// TestMillFaults names the field of what cannot be worked.
func TestMillFaults(t *testing.T) {
	all := templates(t)
	for name, c := range map[string]struct {
		template string
		change   func(*Milling)
		field    string
	}{
		"cutter too thick for a hole": {"sine", func(m *Milling) { m.Cutter = 3.5 }, "holes[1]"},
		"cutter too thick for a bore": {"unequal", func(m *Milling) { m.Cutter = 6 }, "bore"},
		"no cutter":                   {"sine", func(m *Milling) { m.Cutter = 0 }, "cutter"},
		"no feed":                     {"sine", func(m *Milling) { m.Feed = math.NaN() }, "feed"},
		"thin passes":                 {"sine", func(m *Milling) { m.Thickness, m.Pass = 90, 0.005 }, "pass"},
		"no room for tabs":            {"scallops", func(m *Milling) { m.Tabs = 9 }, "tabs"},
		"tabs thicker than the sheet": {"scallops", func(m *Milling) { m.TabHeight = 4 }, "tab_height"},
	} {
		m := milling()
		c.change(&m)
		_, err := Mill(io.Discard, all[c.template], m)
		var list fault.List
		if !errors.As(err, &list) || list[0].Field != c.field {
			t.Errorf("%s: %v, want a fault of %q", name, err, c.field)
		}
	}
}

// TestMillTellsWhatStays: a cutter thicker than the hollows says so, in the file.
func TestMillTellsWhatStays(t *testing.T) {
	tm, err := NewTemplate(bar.Edge{Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 30}, Shape{Back: 5})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	m := milling()
	m.Cutter = 4 // its radius, 2 mm, is above the 0.912 mm of the hollows
	s, err := Mill(&b, tm, m)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(s.Remarks, " "), "thicker than 1 hollows") && !strings.Contains(strings.Join(s.Remarks, " "), "hollow") {
		t.Errorf("nothing is said of the hollows: %v", s.Remarks)
	}
	for _, want := range []string{"eye protection", "clamped", "rules of your place", "without cutting"} {
		if !strings.Contains(strings.Join(strings.Fields(strings.NewReplacer("(", "", ")", "").Replace(b.String())), " "), want) {
			t.Errorf("the program does not say %q", want)
		}
	}
	for line := range strings.Lines(b.String()) {
		if len(line) > 80 {
			t.Errorf("a line of %d letters: %s", len(line), line)
		}
	}
}
