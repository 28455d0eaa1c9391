package sheet

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/job"
)

// TestSums against closed forms: straight rays have their length between the
// limits; a wave of amplitude a and length λ is longer than its chord by the
// elliptic integral, here summed finely; a ring is a circle with 24 waves.
func TestSums(t *testing.T) {
	wave := func(a, slope, span float64) float64 { // ∫ √(1 + (a·k·cos kt)²) dt
		const n = 200_000
		sum := 0.0
		for i := range n {
			u := (float64(i) + 0.5) / n * span
			sum += math.Hypot(1, a*slope*math.Cos(slope*u)) * span / n
		}
		return sum
	}
	for _, c := range []struct {
		make    func() (*job.Job, *engine.List)
		strokes int
		length  float64
		seconds float64
		said    string
	}{
		{sunburst, 360, 360 * 15, 360 * 8, "360 strokes, 5.40 m cut in the metal, about 48 min at the engine (8 s a stroke)."},
		{barleycorn, 160, 160 * wave(0.25, 2*math.Pi/3, 18), 160 * 8, "160 strokes, 3.07 m cut in the metal, about 21 min at the engine (8 s a stroke)."},
	} {
		s := New(c.make())
		if s.Strokes != c.strokes || s.Seconds != c.seconds || math.Abs(s.Length-c.length) > 0.001*c.length {
			t.Errorf("%s: %d strokes, %.3f mm, %.0f s; want %d, %.3f, %.0f", s.Title, s.Strokes, s.Length, s.Seconds, c.strokes, c.length, c.seconds)
		}
		if got := s.Totals[0].String(); got != c.said {
			t.Errorf("%s, want %s", got, c.said)
		}
	}
}

// TestSaidEqualsSet: every value in the set-up is the setting it names, at any
// settings and in both units.
func TestSaidEqualsSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		thousandths := func(name string, least, most int) float64 {
			return float64(rapid.IntRange(least, most).Draw(t, name)) / 1000
		}
		j := panel()
		per := 1.0
		if rapid.Bool().Draw(t, "inch") {
			j.Units, per = job.Inch, inch
		}
		want := map[string]float64{} // in the unit that the value tells
		size := func(field string, at *float64, least, most int) {
			*at = thousandths(field, least, most) * per
			want[field] = *at / per
		}
		size("blank.thickness", &j.Setup.Blank.Thickness, 100, 3000)
		size("blank.border", &j.Setup.Blank.Border, 1, 2000)
		size("blank.outline.width", &j.Setup.Blank.Outline.Width, 5000, 90000)
		size("blank.outline.height", &j.Setup.Blank.Outline.Height, 5000, 90000)
		size("blank.outline.corner", &j.Setup.Blank.Outline.Corner, 1, 2000)
		size("touchpiece", &j.Setup.Touch, 50, 5000)
		size("guide.offset", &j.Guide.Offset, 100, 3000)
		size("guide.foot_radius", &j.Guide.FootRadius, 100, 3000)
		j.Setup.Cutter.Included = thousandths("included", 60000, 170000) * degree
		want["cutter.included"] = j.Setup.Cutter.Included / degree
		j.Setup.Cutter.Clearance = thousandths("clearance", 1000, 30000) * degree
		want["cutter.clearance"] = j.Setup.Cutter.Clearance / degree
		j.Setup.Depth = thousandths("depth", 10, 300)
		want["depth"] = j.Setup.Depth * 1000
		j.Guide.Extension = thousandths("extension", 10, 300)
		want["guide.extension"] = j.Guide.Extension * 1000
		if per != 1 {
			want["depth"], want["guide.extension"] = j.Setup.Depth/thou, j.Guide.Extension/thou
		}
		j.Setup.Limits = &engine.Limits{From: -thousandths("from", 1, 40000) * per, To: thousandths("to", 1, 40000) * per}
		want["limits.from"], want["limits.to"] = j.Setup.Limits.From/per, j.Setup.Limits.To/per
		at := engine.Settings{Slide: rapid.IntRange(-3000, 3000).Draw(t, "slide"), Shift: rapid.IntRange(-3000, 3000).Draw(t, "shift")}
		want["start.slide"], want["start.shift"] = float64(at.Slide), float64(at.Shift)
		s := &stage{j: j, at: at}
		s.cut(0, s.wave, [2]float64{-9, 9})
		if at.Shift == 0 {
			delete(want, "start.shift") // an axis that is never moved is not spoken of
		}
		for _, sentence := range New(j, &s.l).Setup {
			for _, p := range sentence {
				w, ok := want[p.Field]
				if !ok {
					continue
				}
				delete(want, p.Field)
				var got float64
				if _, err := fmt.Sscan(strings.Replace(p.Text, "−", "-", 1), &got); err != nil {
					t.Fatalf("%s: %q is no number: %v", p.Field, p.Text, err)
				}
				// Half of the last digit told: 3 decimals of a mm or degree, 4 of an
				// inch, 1 of a micron, 2 of a thou.
				tolerance := 0.00051
				if p.Unit == "µm" || p.Unit == "thou" {
					tolerance = 0.051
				}
				if math.Abs(got-w) > tolerance {
					t.Fatalf("%s: %q is told, %v is set", p.Field, p.Text, w)
				}
				// And what stands in brackets is what the count gives.
				if p.Unit == "teeth" {
					var exact float64
					fmt.Sscan(strings.Replace(p.Exact, "−", "-", 1), &exact)
					pitch := map[string]float64{"start.slide": 0.01, "start.shift": 0.02}[p.Field]
					if math.Abs(exact*per-w*pitch) > 0.00051*per {
						t.Fatalf("%s: %q gives %q, want %v mm", p.Field, p.Text, p.Exact, w*pitch)
					}
				}
			}
		}
		if len(want) > 0 {
			t.Fatalf("the set-up does not tell %v", want)
		}
	})
}

// TestWidthSaid checks the groove's width against the trade's formula 2·d·tan α:
// 130° and 45 µm give 0.193 mm.
func TestWidthSaid(t *testing.T) {
	j, l := barleycorn()
	if text := New(j, l).voice.depth(j).String(); !strings.Contains(text, "Cut 45 µm deep: in flat stock a groove 0.193 mm wide.") {
		t.Error(text)
	}
}

func TestCautionsApply(t *testing.T) {
	for _, c := range []struct {
		metal string
		make  func() (*job.Job, *engine.List)
		want  []string
		not   []string
	}{
		{"silver", barleycorn, []string{"eye protection", "pinch", "crank turns", "shellac", "lamp"}, []string{"lead", "spindle"}},
		{"CuZn39Pb3", barleycorn, []string{"This metal holds lead"}, nil},
		{"leaded brass", barleycorn, []string{"This metal holds lead"}, nil},
		{"brass", sunburst, []string{"Unless the metal is known to be free of it", "chuck"}, []string{"This metal holds lead"}},
		{"nickel silver", rings, []string{"spindle", "gloves", "Nickel"}, []string{"lead"}},
	} {
		j, l := c.make()
		j.Metal = cutter.Metal{Name: c.metal}
		cautions := New(j, l).Cautions
		if !strings.HasPrefix(cautions[0], "Local rules") {
			t.Errorf("the first caution is %q", cautions[0])
		}
		all := strings.Join(cautions, " ")
		for _, w := range c.want {
			if !strings.Contains(all, w) {
				t.Errorf("%s: nothing of %q in %s", c.metal, w, all)
			}
		}
		for _, w := range c.not {
			if strings.Contains(all, w) {
				t.Errorf("%s: %q does not belong in %s", c.metal, w, all)
			}
		}
	}
}

// write makes all three and fails on an error; a panic fails by itself.
func write(t *testing.T, j *job.Job, l *engine.List) (*Sheet, int) {
	t.Helper()
	s := New(j, l)
	var text, pdf bytes.Buffer
	if err := WriteText(&text, s); err != nil {
		t.Fatal(err)
	}
	if err := WritePDF(&pdf, s, Letter); err != nil {
		t.Fatal(err)
	}
	read(t, inHTML(t, s))
	p, err := setPDF(s, A4, 0)
	if err != nil {
		t.Fatal(err)
	}
	for i := range l.Cuts {
		s.Action(&l.Cuts[i])
		if i > 1000 {
			break
		}
	}
	return s, p.PageCount()
}

func TestEmptyAndBroken(t *testing.T) {
	nan := math.NaN()
	write(t, &job.Job{}, &engine.List{})
	write(t, &job.Job{Title: "No pieces"}, &engine.List{Cuts: make([]engine.Cut, 12)})
	j, l := basket()
	for i := range l.Cuts {
		l.Cuts[i].Pieces = nil
	}
	if s, _ := write(t, j, l); !strings.Contains(fmt.Sprint(s.Warnings), "160 strokes do not touch the field") {
		t.Error("nothing is said of strokes that touch nothing: ", s.Warnings)
	}
	j, l = basket()
	l.Cuts[3].Pieces[0].Path = nil
	l.Cuts[4].Pieces[0].Start = nan
	l.Cuts[159].Pieces[0].Path[7].X = math.Inf(1)
	l.Cuts[0].Moves = []engine.Move{{Motion: 99, Axis: 99}, {Motion: engine.Set, Axis: 77, Count: 1}, {Motion: engine.Turn, Axis: engine.IndexAxis, Count: 3}}
	l.Cuts[5].Turned = nan
	j.Setup.Engine = engine.Engine{}
	write(t, j, l)
	for _, shape := range []blank.Shape{{Form: blank.Disc, Diameter: nan}, {Form: blank.Disc, Diameter: 1e9}, {Form: blank.Disc, Diameter: 1e-9}, {Form: blank.Polygon}, {Form: 42},
		{Form: blank.Polygon, Points: []r2.Vec{{X: -10, Y: -10}, {X: 10, Y: -10}, {X: 0, Y: 0}, {X: 10, Y: 10}, {X: -10, Y: 10}}}} {
		j.Setup.Blank.Outline = shape
		write(t, j, l)
	}
}

// TestLongestSheet: the most cuts the engine makes, none like another, still give
// a sheet of few enough pages that says what it leaves out.
func TestLongestSheet(t *testing.T) {
	j := panel()
	s := &stage{j: j}
	for i := range 100_000 {
		s.step(1+i*i%97+i%101, engine.Amount{})
		s.l.Cuts = append(s.l.Cuts, engine.Cut{Number: i + 1, Settings: s.at, Moves: s.moves, Depth: 0.045,
			Pieces: []engine.Piece{{Start: -float64(i % 500), Stop: float64(i % 300), Path: []engine.Vertex{{Y: -9}, {Y: 9}}}}})
		s.moves = nil
		s.l.Warnings = append(s.l.Warnings, engine.Warning{Kind: "heel", First: i + 1, Last: i + 1, Text: "the heel rubs"})
	}
	sheet, pages := write(t, j, &s.l)
	if pages > 200 {
		t.Errorf("%d pages", pages)
	}
	var b bytes.Buffer
	WriteText(&b, sheet)
	said := blanks.ReplaceAllString(b.String(), " ")
	for _, want := range []string{"99960 warnings more", "rows more are left out", "94000 cuts more are left out"} {
		if !strings.Contains(said, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
}

// TestDrawing: numbers meet no other number and stay on the paper, lines are true
// to the scale, and first and last differ by more than grey.
func TestDrawing(t *testing.T) {
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		d := s.Drawing
		for i, a := range d.Labels {
			box := a.box()
			if box.Min.X < 0 || box.Min.Y < 0 || box.Max.X > d.Width || box.Max.Y > d.Height {
				t.Errorf("%q leaves the paper", a.Text)
			}
			for _, b := range d.Labels[:i] {
				if overlap(box, b.box(), 0) {
					t.Errorf("%q and %q collide", a.Text, b.Text)
				}
			}
		}
		for _, number := range []int{1, 10, 100, len(l.Cuts)} {
			found := false
			for _, a := range d.Labels {
				found = found || a.Text == fmt.Sprint(number)
			}
			if !found {
				t.Errorf("cut %d has no number", number)
			}
		}
		var scale float64
		fmt.Sscanf(d.Caption, "Scale %f : 1", &scale)
		box := j.Setup.Blank.Outline.Bounds()
		var least, most r2.Vec
		for _, line := range d.Lines {
			if line.Pen == Edge {
				least, most = line.Points[0], line.Points[0]
				for _, p := range line.Points {
					least = r2.Vec{X: min(least.X, p.X), Y: min(least.Y, p.Y)}
					most = r2.Vec{X: max(most.X, p.X), Y: max(most.Y, p.Y)}
				}
				break
			}
		}
		if w := (box.Max.X - box.Min.X) * scale; math.Abs(most.X-least.X-w) > 0.1 {
			t.Errorf("the outline is %.2f mm wide on paper, %.2f at scale %g", most.X-least.X, w, scale)
		}
		if pens[FirstCut].dash != nil || pens[LastCut].dash == nil {
			t.Error("first and last cut are told apart by nothing")
		}
	})
}

// TestMargin: every point of a border's line stands off the edge by the border.
func TestMargin(t *testing.T) {
	star := blank.Shape{Form: blank.Polygon, Points: []r2.Vec{{X: -10, Y: -9}, {X: 11, Y: -10}, {X: 3, Y: 0}, {X: 10, Y: 12}, {X: -12, Y: 10}, {X: -4, Y: 1}}}
	for _, c := range []struct {
		shape  blank.Shape
		border float64
	}{{star, -1}, {star, 1}, {blank.Shape{Form: blank.Ring, Diameter: 30, Inner: 8}, -1}, {blank.Shape{Form: blank.Rectangle, Width: 20, Height: 12, Corner: 0.4, Angle: 0.3}, -1}} {
		v := view{d: &Drawing{Width: 176, Height: 172}, scale: 4}
		v.margin(c.shape, c.border)
		if len(v.d.Lines) == 0 {
			t.Errorf("%+v has no border", c.shape)
		}
		for _, line := range v.d.Lines {
			for _, p := range line.Points {
				at := r2.Vec{X: (p.X - 88) / 4, Y: (86 - p.Y) / 4}
				if off := math.Abs(c.shape.Distance(at)-c.border) * 4; off > 0.07 {
					t.Errorf("%v stands %.3f mm off on paper", at, off)
				}
			}
		}
	}
}
