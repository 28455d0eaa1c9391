package export

import (
	"fmt"
	"io"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
)

// Milling says how a bar or rosette is milled out of sheet. Z is 0 on its upper
// face; X and Y are those of the template.
type Milling struct {
	Cutter    float64 // diameter, mm
	Thickness float64 // of the sheet, mm
	Through   float64 // how far the last pass goes below the sheet, mm
	Pass      float64 // depth of a pass, mm
	Feed      float64 // mm/min
	Plunge    float64 // feed downwards, mm/min
	Spindle   float64 // turns a minute
	Safe      float64 // height above the sheet for quick moves, mm
	Lead      float64 // radius of the arcs that lead on to and off the outline, mm; 0 is half the cutter
	Tabs      int     // bridges that hold the bar in the sheet; they stand along its back, or on both ends of one cut on both sides
	TabWidth  float64 // mm
	TabHeight float64 // above the underside of the sheet, mm
	Inch      bool    // the program is in inches
}

// Check returns what keeps a template from being milled so. Fields: "cutter",
// "thickness", "through", "pass", "feed", "plunge", "spindle", "safe", "lead",
// "tabs", "tab_width", "tab_height".
func (m *Milling) Check() (faults fault.List) {
	need := func(field string, v, least, most float64, unit string) {
		if !(v >= least && v <= most) {
			faults = append(faults, fault.Fault{Field: field, Problem: fmt.Sprintf("%g %s cannot be worked with", v, unit), Mend: fmt.Sprintf("give between %g and %g %s", least, most, unit)})
		}
	}
	need("cutter", m.Cutter, 0.05, 50, "mm")
	need("thickness", m.Thickness, 0.01, 100, "mm")
	need("through", m.Through, 0, 10, "mm")
	need("pass", m.Pass, 0.005, 100, "mm")
	need("feed", m.Feed, 1, 20000, "mm/min")
	need("plunge", m.Plunge, 1, 20000, "mm/min")
	need("spindle", m.Spindle, 1, 200000, "turns a minute")
	need("safe", m.Safe, 0.1, 200, "mm")
	need("lead", m.Lead, 0, 100, "mm")
	need("tabs", float64(m.Tabs), 0, 100, "tabs")
	if m.Tabs > 0 {
		need("tab_width", m.TabWidth, 0.1, 100, "mm")
		need("tab_height", m.TabHeight, 0.01, m.Thickness, "mm")
	}
	return faults
}

// mostPasses bounds what a pass of a few microns in thick sheet would write.
const mostPasses = 2000

// Mill writes the program that mills the template out of sheet: holes first, then
// the outline, each in passes. The way of the cutter's middle is written out, so
// that the control needs no compensation of its own. The error is a fault.List
// when the cutter does not go into a hole or there is no room for the tabs.
func Mill(w io.Writer, t *Template, m Milling) (Summary, error) {
	faults := m.Check()
	if len(faults) > 0 {
		return Summary{}, faults
	}
	R := m.Cutter / 2
	inner, faults := t.innerPaths(R)
	outer, room, err := t.outerPath(R)
	if err != nil {
		return Summary{}, err
	}
	tabs, more := m.tabs(room)
	if faults = append(faults, more...); len(faults) > 0 {
		return Summary{}, faults
	}
	down := m.Thickness + m.Through
	passes := int(math.Ceil(down/m.Pass - 1e-9))
	if passes > mostPasses {
		return Summary{}, fault.List{{Field: "pass", Problem: fmt.Sprintf("passes of %g mm are %d for a sheet of %g mm", m.Pass, passes, m.Thickness), Mend: "take deeper passes"}}
	}
	remarks := t.millingRemarks(R, m)
	words := []string{
		fmt.Sprintf("end mill of %.3f mm diameter that cuts over its middle; sheet of %.3f mm", m.Cutter, m.Thickness),
		"X and Y are those of the drawing; Z is 0 on the upper face of the sheet",
	}
	p := newProgram(w, t.Name, m.Inch, append(words, remarks...))
	p.lift(m.Safe)
	p.spindle(m.Spindle)
	lead := m.Lead
	if lead == 0 {
		lead = R
	}
	for i, path := range inner {
		p.comment(fmt.Sprintf("opening %d of %d", i+1, len(inner)))
		box := nobox()
		path.grow(&box)
		narrow := min(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y)
		p.contour(path, nil, passes, down, min(lead, narrow/4), t.Tolerance, m)
	}
	p.comment("outline")
	p.contour(outer, tabs, passes, down, lead, t.Tolerance, m)
	if err := p.finish(true); err != nil {
		return Summary{}, fmt.Errorf("export: writing G-code of %q: %w", t.Name, err)
	}
	s := p.summary(t.Name, t.Tolerance)
	s.Counts["passes"], s.Counts["openings"], s.Counts["tabs"] = passes, len(inner), len(tabs)
	s.Remarks = remarks
	return s, nil
}

func (t *Template) millingRemarks(R float64, m Milling) (out []string) {
	if n, most := t.unreached(R); n > 0 {
		out = append(out, fmt.Sprintf("The cutter is too thick for %s of each wave: up to %.0f um of metal stays there, as it would under a touchpiece of %.3f mm radius.", hollows(n), math.Ceil(most*1000), R))
	}
	if t.shape.KeyWidth > 0 {
		out = append(out, "The bore is milled round: its keyway has corners that no round cutter makes. File or broach it.")
	}
	if m.Tabs > 0 {
		where := "the back"
		switch {
		case len(t.borders) == 2:
			where = "its ends"
		case t.Rosette:
			where = "the edge; file them off with care, the rubber runs there"
		}
		out = append(out, fmt.Sprintf("%d tabs hold the piece in the sheet. They stand on %s.", m.Tabs, where))
	} else {
		out = append(out, "No tab holds the piece: fix it to what lies under it before the last pass, or it comes loose under the cutter.")
	}
	return out
}

// tab is a stretch of the way, as lengths from its beginning, where the cutter is
// lifted.
type tab struct{ from, to float64 }

// tabs shares the tabs out among the stretches that have room for them.
func (m *Milling) tabs(room []tab) (tabs []tab, faults fault.List) {
	half := m.TabWidth/2 + m.Cutter/2 // the cutter takes its radius off either side
	for i, r := range room {
		n := (m.Tabs + len(room) - 1 - i) / len(room)
		if n == 0 {
			continue
		}
		part := (r.to - r.from) / float64(n)
		if part/2 <= half {
			return nil, fault.List{{Field: "tabs", Problem: fmt.Sprintf("%d tabs of %g mm find no room on %.1f mm with a cutter of %g mm", n, m.TabWidth, r.to-r.from, m.Cutter), Mend: "ask for fewer or narrower tabs"}}
		}
		for k := range n {
			at := r.from + part*(float64(k)+0.5)
			tabs = append(tabs, tab{at - half, at + half})
		}
	}
	return tabs, nil
}

// contour mills along a closed way in passes, led on and off by quarter circles on
// the left of the way, where the waste is.
func (p *program) contour(path Line, tabs []tab, passes int, down, lead, tolerance float64, m Milling) {
	var first stretch
	for s := range path.stretches() {
		first = s
		break
	}
	p0 := first.a
	ahead := r2.Sub(first.at(1e-6), p0)
	if first.bulge == 0 {
		ahead = r2.Sub(first.b, p0)
	}
	ahead = r2.Unit(ahead)
	left := r2.Vec{X: -ahead.Y, Y: ahead.X}
	quarter := math.Tan(math.Pi / 8)
	middle := r2.Add(p0, r2.Scale(lead, left))
	on := stretch{r2.Sub(middle, r2.Scale(lead, ahead)), p0, quarter}
	off := stretch{p0, r2.Add(middle, r2.Scale(lead, ahead)), quarter}
	tabTop := -m.Thickness + m.TabHeight
	for i := range passes {
		z := -down * float64(i+1) / float64(passes)
		p.above(on.a)
		p.feedRate = m.Plunge
		p.cut(on.a, z)
		p.feedRate = m.Feed
		p.along(on, tolerance)
		if z < tabTop-1e-9 {
			p.withTabs(path, tabs, z, tabTop, tolerance, m)
		} else {
			for s := range path.stretches() {
				p.along(s, tolerance)
			}
		}
		p.along(off, tolerance)
		p.lift(m.Safe)
	}
}

// withTabs follows the way and lifts the cutter over the tabs.
func (p *program) withTabs(path Line, tabs []tab, z, top, tolerance float64, m Milling) {
	gone, next, up := 0.0, 0, false
	for s := range path.stretches() {
		length, done := s.length(), 0.0
		for next < len(tabs) {
			edge := tabs[next].from
			if up {
				edge = tabs[next].to
			}
			if edge > gone+length {
				break
			}
			to := edge - gone
			if to > done {
				p.along(s.part(done/length, to/length), tolerance)
				done = to
			}
			at, _ := p.place()
			if up {
				p.feedRate = m.Plunge
				p.cut(at, z)
				next++
			} else {
				p.feedRate = m.Plunge
				p.cut(at, top)
			}
			p.feedRate = m.Feed
			up = !up
		}
		if done < length {
			p.along(s.part(done/length, 1), tolerance)
		}
		gone += length
	}
}

// sortedUnique sorts and leaves out what is there twice.
func sortedUnique(x []float64) []float64 {
	slices.Sort(x)
	return slices.Compact(x)
}

func hollows(n int) string {
	if n == 1 {
		return "one hollow"
	}
	return fmt.Sprintf("%d hollows", n)
}
