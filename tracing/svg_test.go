package tracing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// page is a drawing 100 mm square in millimetres, y down.
func page(inner string) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="100mm" viewBox="0 0 100 100">` + inner + `</svg>`
}

// ink tells where a drawing's lines lead, with y down from the top of the page again.
func ink(d *Drawing) string {
	var b strings.Builder
	for i := range d.Lines {
		l := &d.Lines[i]
		for _, p := range l.Points {
			fmt.Fprintf(&b, "%.4g,%.4g ", math.Round(p.X*1e6)/1e6+0, math.Round((100-p.Y)*1e6)/1e6+0)
		}
		if l.Closed {
			b.WriteString("z ")
		}
		b.WriteString("| ")
	}
	return strings.TrimSuffix(b.String(), " | ")
}

// Straight commands and the ways in which numbers may be run together (SVG 1.1,
// section 8.3, grammar and its remarks).
func TestPathGrammar(t *testing.T) {
	for _, c := range [][2]string{
		{"M 10 20 L 30 40", "10,20 30,40"},
		{"M10 20 30 40 50,60", "10,20 30,40 50,60"},                             // further pairs of M are L
		{"m10 20 5 5 5 5", "10,20 15,25 20,30"},                                 // and of m are l
		{"M1.5.5-3-4", "1.5,0.5 -3,-4"},                                         // run together
		{"M10-20+5e0 1L1E1,.2e2", "10,-20 5,1 10,20"},                           // signs and exponents
		{"M0 0H10V20h-5v-5z", "0,0 10,0 10,20 5,20 5,15 z"},                     // H V h v
		{"M0 0h10 20 30", "0,0 10,0 30,0 60,0"},                                 // several of one command
		{"M10 10h10v10zm1 1h5v5z", "10,10 20,10 20,20 z | 11,11 16,11 16,16 z"}, // m after z is from its start
		{"M10 10h10v10zl5 5", "10,10 20,10 20,20 z | 10,10 15,15"},              // any command after z begins there
		{"M0 0L10 0M20 0L30 0", "0,0 10,0 | 20,0 30,0"},
		{"M5 5", ""},
		{"M0 0A0 5 0 0 1 10 10", "0,0 10,10"}, // no radius: a straight line (F.6.2)
		{"", ""},
	} {
		d, err := Read(strings.NewReader(page(`<path d="`+c[0]+`"/><line x1="90" y1="90" x2="91" y2="90"/>`)), "a.svg", Options{})
		if err != nil {
			t.Errorf("%s: %v", c[0], err)
			continue
		}
		want := "90,90 91,90"
		if c[1] != "" {
			want = c[1] + " | " + want
		}
		if got := ink(d); got != want {
			t.Errorf("%s: drew %s, want %s", c[0], got, want)
		}
	}
	for _, bad := range []string{"L 1 2", "M 1", "M 1 2 L 3", "M 1 2 X 3 4", "M0 0A5 5 0 2 0 1 1", "M0 0 1e", "M0 0 1e999 1", "M0 0,,1 1"} {
		refused(t, "a.svg", page("\n<path d=\""+bad+"\"/>"), 2, "cannot be read")
	}
}

// Arc flags need no separator: a25 25 -30 0 1 50 -25 written as a25,25-30 0150-25.
// The curves of SVG 1.1's own examples (8.3.8: the pie, the spirals), by closed forms.
func TestArcs(t *testing.T) {
	a := read(t, "a.svg", page(`<path d="M30 50a25,25 -30 0 1 50 -25"/>`), Options{})
	b := read(t, "a.svg", page(`<path d="M30 50a25,25-30 0150-25"/>`), Options{})
	if ink(a) != ink(b) {
		t.Error("flags without separators are read otherwise")
	}
	// M300,200 h-150 a150,150 0 1,0 150,-150 z: three quarters of a disc.
	d := read(t, "a.svg", `<svg width="100mm" height="100mm" viewBox="0 0 1000 1000"><path d="M300,200 h-150 a150,150 0 1,0 150,-150 z"/></svg>`, Options{})
	if got, want := d.Lines[0].Length(), 15*(2+1.5*math.Pi); math.Abs(got-want) > 1e-2 {
		t.Errorf("the pie is %g mm round, want %g", got, want)
	}
	// Radii too small are enlarged until they reach: a half circle of radius 20.
	d = read(t, "a.svg", page(`<path d="M10 50A1 1 0 0 0 50 50"/>`), Options{})
	if got, want := d.Lines[0].Length(), 20*math.Pi; math.Abs(got-want) > 1e-3 {
		t.Errorf("enlarged arc is %g mm, want %g", got, want)
	}
	low := 100.0
	for _, p := range d.Lines[0].Points {
		low = min(low, p.Y)
	}
	if math.Abs(low-30) > 1e-3 { // sweep 0 is anticlockwise on the screen: it hangs below
		t.Errorf("the arc reaches down to %g", low)
	}
}

// A curve is nowhere further from its lines than the tolerance: every curve is
// compared with itself followed a hundred times as finely.
func TestFlatteningBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := func(what string) float64 { return rapid.Float64Range(-50, 50).Draw(t, what) }
		p := func(what string) Point { return Point{v(what), v(what)} }
		m := affine{v("a") / 10, v("b") / 10, v("c") / 10, v("d") / 10, 0, 0}
		tolerance := rapid.SampledFrom([]float64{1e-4, 1e-3, 1e-1}).Draw(t, "tolerance")
		curves := []bezier{{p("p"), p("q"), p("r")}, {p("p"), p("q"), p("r"), p("s")}}
		check := func(line []Point, at func(float64) Point) {
			// The stray is greatest near the middle of a chord; curves of this
			// kind turn little within one.
			n := len(line) - 1
			for i := range n {
				for _, u := range []float64{0.25, 0.5, 0.75} {
					q := at((float64(i) + u) / float64(n))
					if d := toSegment(q, line[i], line[i+1]); d > tolerance*1.001+1e-9 {
						t.Fatalf("strays %g from chord %d of %d", d, i, n)
					}
				}
			}
		}
		for _, b := range curves {
			for i := range b {
				b[i] = m.point(b[i])
			}
			n := steps(b.bend(), tolerance)
			line := []Point{b[0]}
			for i := 1; i <= n; i++ {
				line = append(line, b.at(float64(i)/float64(n)))
			}
			check(line, b.at)
		}
		a := arc{p("centre"), Point{v("rx"), 0}, Point{0, v("ry")}, v("from"), v("to")}.under(m)
		n := steps(a.bend(), tolerance)
		check(a.follow([]Point{a.at(a.from)}, n), func(u float64) Point { return a.at(a.from + (a.to-a.from)*u) })
	})
}

// A rational quarter circle of degree 2 has weights 1, √½, 1 (any text on NURBS):
// all its places lie on the circle, and its lines within the tolerance of it.
func TestRationalQuarter(t *testing.T) {
	w := math.Sqrt(0.5)
	b := bezierSpan([]weighted{{10, 0, 1}, {10 * w, 10 * w, w}, {0, 10, 1}}, []float64{0, 0, 0, 1, 1, 1}, 2, 2)
	p, ok := followRational([]Point{b[0].point()}, b, 1e-4, 1000)
	if !ok || len(p) < 20 {
		t.Fatal(len(p), ok)
	}
	for i, q := range p {
		if math.Abs(q.length()-10) > 1e-12 {
			t.Errorf("%v is not on the circle", q)
		}
		if i > 0 && 10-q.toward(p[i-1], 0.5).length() > 1e-4 {
			t.Errorf("the chord to %v strays", q)
		}
	}
}

func TestShapesAndTransforms(t *testing.T) {
	for _, c := range [][2]string{
		{`<line x1="1" y1="2" x2="3" y2="4"/>`, "1,2 3,4"},
		{`<line x1="1mm" y1="2" x2="1in" y2="4"/>`, "3.78,2 96,4"}, // absolute lengths are px of the user space
		{`<polyline points="1,2 3,4,5 6"/>`, "1,2 3,4 5,6"},
		{`<polygon points="1,2 3,4 5,6"/>`, "1,2 3,4 5,6 z"},
		{`<rect x="1" y="2" width="3" height="4"/>`, "1,2 4,2 4,6 1,6 z"},
		{`<rect x="1" y="2" width="0" height="4"/><line x2="1"/>`, "0,0 1,0"},
		{`<g transform="translate(10,20) scale(2)"><line x1="1" x2="3" y2="4"/></g>`, "12,20 16,28"},
		{`<g transform="rotate(90)"><line x1="1" x2="3" y2="4"/></g>`, "0,1 -4,3"},
		{`<g transform="rotate(90, 10 10)"><line x1="1" x2="3" y2="4"/></g>`, "20,1 16,3"},
		{`<g transform="matrix(1 2 3 4 5 6)"><line x1="1" x2="3" y2="4"/></g>`, "6,8 20,28"},
		{`<g transform="skewX(45)skewY(45)"><line x1="1" x2="3" y2="4"/></g>`, "2,1 10,7"},
		{`<line transform="translate(5)" x2="1"/>`, "5,0 6,0"},
		{`<g style="display:none"><line x2="1"/></g><line display="none" x2="1"/><line x2="2"/>`, "0,0 2,0"},
		{`<g visibility="hidden"><line x2="1"/><line style="visibility: visible" x2="2"/></g>`, "0,0 2,0"},
		{`<defs><line id="l" x2="1"/></defs><use xlink:href="#l" x="5" y="6"/><use href="#l" transform="scale(3)"/>`, "5,6 6,6 | 0,0 3,0"},
		{`<symbol id="s" viewBox="0 0 10 10"><line x2="10"/></symbol><use href="#s" x="50" width="20" height="20"/>`, "50,0 70,0"},
		{`<svg x="10" y="20" width="40" height="20" viewBox="0 0 10 10"><line x2="10"/></svg>`, "20,20 40,20"},
		{`<svg x="10" y="20" width="40" height="20" viewBox="0 0 10 10" preserveAspectRatio="xMaxYMin"><line x2="10"/></svg>`, "30,20 50,20"},
		{`<svg x="10" y="20" width="40" height="20" viewBox="0 0 10 10" preserveAspectRatio="none"><line x2="10" y2="10"/></svg>`, "10,20 50,40"},
		{`<svg x="10" y="20" width="40" height="20" viewBox="0 0 10 10" preserveAspectRatio="xMidYMin slice"><line x2="10" y2="10"/></svg>`, "10,20 50,60"},
		{`<clipPath><rect width="5" height="5"/></clipPath><line x2="1"/>`, "0,0 1,0"},
	} {
		if got := ink(read(t, "a.svg", page(c[0]), Options{})); got != c[1] {
			t.Errorf("%s: drew %s, want %s", c[0], got, c[1])
		}
	}
	for inner, want := range map[string]float64{
		`<circle cx="50" cy="50" r="10"/>`:                             20 * math.Pi,
		`<ellipse cx="50" cy="50" rx="10" ry="10"/>`:                   20 * math.Pi,
		`<rect x="10" y="10" width="40" height="20" rx="5"/>`:          2*30 + 2*10 + 10*math.Pi,
		`<rect x="10" y="10" width="40" height="20" rx="99" ry="99"/>`: 96.88448220547675, // ellipse 20 by 10: 80·E(√¾)
		`<path d="M0 0C0 0 10 0 10 0"/>`:                               10,
		`<path d="M0 0Q10 20 20 0"/>`:                                  5 * (2*math.Sqrt(5) + math.Asinh(2)), // the parabola y = 2x − x²/10
		`<path d="M0 0Q5 10 10 0T20 0"/>`:                              5 * (2*math.Sqrt(5) + math.Asinh(2)), // two of half the size
	} {
		d := read(t, "a.svg", page(inner), Options{Tolerance: 1e-5})
		if got := d.Lines[0].Length(); math.Abs(got-want) > 1e-3 {
			t.Errorf("%s: %g mm long, want %g", inner, got, want)
		}
	}
}

// 1 in = 25.4 mm = 96 px = 72 pt = 6 pc (CSS Values and Units 3).
func TestUnits(t *testing.T) {
	line := `<line x1="0" y1="0" x2="10" y2="0"/></svg>`
	for head, want := range map[string]float64{
		`<svg width="100mm" height="50mm" viewBox="0 0 100 50">`:   10,
		`<svg width="100mm" viewBox="0 0 50 50">`:                  20,
		`<svg width="10cm" height="10cm" viewBox="0 0 1000 1000">`: 1,
		`<svg width="2in" height="2in" viewBox="0 0 2 2">`:         254,
		`<svg width="960px" height="960">`:                         254. / 96,
		`<svg>`:                                                    254. / 96,
		`<svg viewBox="0 0 100 100">`:                              254. / 96,
		`<svg width="100%" height="100%" viewBox="0 0 100 100">`:   254. / 96,
		`<svg width="72pt" height="72pt" viewBox="0 0 72 72">`:     254. / 72,
		`<svg width="6pc" height="6pc" viewBox="0 0 100 100">`:     2.54,
	} {
		d := read(t, "a.svg", head+line, Options{})
		if got := d.Lines[0].Length(); math.Abs(got-want) > 1e-9 || math.Abs(d.Scale-want/10) > 1e-9 {
			t.Errorf("%s: %g mm, scale %g, want %g", head, got, d.Scale, want)
		}
		if said := len(d.Remarks) > 0; said == absolute(strings.Split(head+`""`, `"`)[1]) {
			t.Errorf("%s: remarks %v", head, d.Remarks)
		}
		d = read(t, "a.svg", head+line, Options{Unit: 2})
		if got := d.Lines[0].Length(); math.Abs(got-20) > 1e-9 {
			t.Errorf("%s: %g mm in units of 2 mm", head, got)
		}
	}
}

func TestSVGRefused(t *testing.T) {
	lol := "<?xml version=\"1.0\"?>\n<!DOCTYPE lolz [\n<!ENTITY lol \"lol\">\n"
	for i := range 9 {
		lol += fmt.Sprintf("<!ENTITY lol%d \"%s\">\n", i, strings.Repeat("&lol;", 10))
	}
	refused(t, "a.svg", lol+"]>\n<svg>&lol8;</svg>", 2, "words of its own")
	refused(t, "a.svg", `<!DOCTYPE svg SYSTEM "x" [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg>&x;</svg>`, 1, "words of its own")
	refused(t, "a.svg", page("\n<text>&x;</text>"), 2, "entity")
	copies := `<line id="a0" x2="1"/>`
	for i := range 12 {
		copies += fmt.Sprintf(`<g id="a%d">%s</g>`, i+1, strings.Repeat(fmt.Sprintf(`<use href="#a%d"/>`, i), 10))
	}
	refused(t, "a.svg", page(copies), 0, "things are drawn")
	refused(t, "a.svg", page(`<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>`), 0, "within itself")
	refused(t, "a.svg", page(`<use href="other.svg#a"/>`), 1, "not in this file")
	refused(t, "a.svg", page(`<use href="#gone"/>`), 1, "has not")
	refused(t, "a.svg", page(strings.Repeat("<g>", 100)+strings.Repeat("</g>", 100)), 1, "deep")
	refused(t, "a.svg", "<html></html>", 1, "begins with <html>")
	refused(t, "a.svg", "<svg><g></svg>", 1, "closes nothing")
	refused(t, "a.svg", "<svg>\n<line", 2, "")
	refused(t, "a.svg", "<svg>\n", 0, "ends before")
	refused(t, "a.svg", page(""), 0, "nothing is drawn")
	refused(t, "a.svg", page("\n<g transform=\"roll(3)\"/>"), 2, "transform")
	refused(t, "a.svg", page("\n<line x2='50%'/>"), 2, "no length")
	refused(t, "a.svg", page("\n<line x2='1e9'/>"), 2, "10 km")
	refused(t, "a.svg", page("\n<circle r='1e12'/>"), 2, "points")
	refused(t, "a.svg", `<svg width="0" height="3"><line x2="1"/></svg>`, 1, "no size")
	refused(t, "a.svg", `<svg viewBox="0 0 1"><line x2="1"/></svg>`, 1, "four numbers")
	refused(t, "a.svg", page("\n<g style='transform: rotate(3deg)'><line x2='1'/></g>"), 2, "style")
	refused(t, "a.xyz", "neither", 0, "no drawing")
	// A DOCTYPE that defines nothing stands before many a sound drawing.
	read(t, "a.svg", `<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">`+page(`<line x2="1"/>`), Options{})
}
