package export

import (
	"io"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

const inchLength = 25.4 // mm, exactly

// program writes the words of RS-274/NGC. Lengths come in mm and leave in mm or
// inches. A word that would repeat what stands is left out.
type program struct {
	*out
	inch     bool
	decimals int
	at       [3]float64 // where the tool is, in the file's units as written; NaN is not known
	feedRate float64    // mm/min
	motion   string

	length float64 // of the way at feed below z = 0, mm
	box    r2.Box  // of all of it
	low    float64 // least z, mm
	moves  int
	arcs   int
}

// newProgram writes what every program begins with: cautions, then the modes.
func newProgram(w io.Writer, title string, inch bool, words []string) *program {
	nan := math.NaN()
	p := &program{out: newOut(w), inch: inch, decimals: 4, at: [3]float64{nan, nan, nan}, box: nobox()}
	if inch {
		p.decimals = 5
	}
	p.comment("Brightcut: " + title)
	for _, t := range append(words, cautions...) {
		p.comment(t)
	}
	units := "G21"
	if inch {
		units = "G20"
	}
	// Plane XY, units, no compensation, no length offset, no canned cycle, absolute,
	// feed a minute, exact path, work offset 1.
	for _, w := range []string{"G17", units, "G40", "G49", "G80", "G90", "G94", "G61", "G54"} {
		p.put(w, "\n")
	}
	return p
}

// cautions stand in every program. (Common practice, no source.)
var cautions = []string{
	"The rules of your place and the maker of your machine come first.",
	"Wear eye protection: chips fly and are sharp. Keep hands, hair and sleeves away from what turns.",
	"Check that the work is clamped and that no clamp stands in the way of the cutter.",
	"Run the program once well above the work, without cutting, before you cut.",
}

// comment writes words between parentheses, in lines that controllers take.
func (p *program) comment(text string) {
	text = strings.Map(func(r rune) rune {
		switch r {
		case '–', '−':
			return '-'
		case '(':
			return '['
		case ')':
			return ']'
		}
		return r
	}, text)
	text = strings.NewReplacer("°", " degrees", "µm", "um", "Ø", "diameter ").Replace(text)
	for text != "" {
		line := text
		if len(line) > 70 {
			end := strings.LastIndexByte(line[:70], ' ')
			if end <= 0 {
				end = 70
			}
			line = line[:end]
		}
		text = strings.TrimLeft(text[len(line):], " ")
		p.put("(", asciiLine(line), ")\n")
	}
}

func asciiLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, s)
}

func (p *program) unit(mm float64) float64 {
	if p.inch {
		mm /= inchLength
	}
	scale := math.Pow(10, float64(p.decimals))
	return math.Round(mm*scale) / scale
}

func (p *program) mm(unit float64) float64 {
	if p.inch {
		return unit * inchLength
	}
	return unit
}

// move writes a motion to a place, its unchanged words left out, or nothing when
// the tool is there.
func (p *program) move(word string, to [3]float64, centre *r2.Vec) {
	var next [3]float64
	same := true
	for i := range to {
		next[i] = p.unit(to[i])
		same = same && next[i] == p.at[i]
	}
	if same {
		return
	}
	if word != p.motion || centre != nil {
		p.put(word)
		p.motion = word
	}
	for i, axis := range []string{"X", "Y", "Z"} {
		if next[i] != p.at[i] || centre != nil && i < 2 {
			p.put(" ", axis)
			p.num(next[i], p.decimals)
		}
	}
	if centre != nil {
		p.put(" I")
		p.num(p.unit(centre.X)-p.at[0], p.decimals)
		p.put(" J")
		p.num(p.unit(centre.Y)-p.at[1], p.decimals)
	}
	if word != "G0" {
		p.setFeed()
	}
	p.put("\n")
	p.at = next
	p.moves++
}

// setFeed writes the feed where it has changed.
func (p *program) setFeed() {
	if p.feedRate == 0 {
		return
	}
	p.put(" F")
	if p.inch {
		p.num(p.feedRate/inchLength, 3)
	} else {
		p.num(p.feedRate, 1)
	}
	p.feedRate = 0
}

// place is where the tool is, mm.
func (p *program) place() (xy r2.Vec, z float64) {
	return r2.Vec{X: p.mm(p.at[0]), Y: p.mm(p.at[1])}, p.mm(p.at[2])
}

// above moves at full speed, in the plane.
func (p *program) above(to r2.Vec) {
	_, z := p.place()
	p.move("G0", [3]float64{to.X, to.Y, z}, nil)
	p.take(to)
}

// lift moves at full speed, up or down.
func (p *program) lift(z float64) {
	if math.IsNaN(p.at[0]) { // nothing is known of X and Y yet
		p.put("G0 Z")
		p.num(p.unit(z), p.decimals)
		p.put("\n")
		p.motion, p.at[2] = "G0", p.unit(z)
		return
	}
	xy, _ := p.place()
	p.move("G0", [3]float64{xy.X, xy.Y, z}, nil)
}

// cut moves at feed.
func (p *program) cut(to r2.Vec, z float64) {
	from, z0 := p.place()
	p.move("G1", [3]float64{to.X, to.Y, z}, nil)
	p.take(to)
	p.low = min(p.low, z)
	if z < 0 || z0 < 0 {
		p.length += math.Hypot(r2.Norm(r2.Sub(to, from)), z-z0)
	}
}

// along moves at feed along a stretch, in the plane. An arc is written as one
// where the rounding of the file leaves its two radii alike; else, and when it is
// all but straight, as what it is within tolerance of.
func (p *program) along(s stretch, tolerance float64) {
	_, z := p.place()
	if s.bulge == 0 {
		p.cut(s.b, z)
		return
	}
	chord := r2.Norm(r2.Sub(s.b, s.a))
	if chord*math.Abs(s.bulge)/2 < tolerance/4 {
		p.cut(s.b, z)
		return
	}
	c := s.centre()
	r0 := math.Hypot(p.unit(c.X)-p.at[0], p.unit(c.Y)-p.at[1])
	r1 := math.Hypot(p.unit(c.X)-p.unit(s.b.X), p.unit(c.Y)-p.unit(s.b.Y))
	short := p.unit(s.b.X) == p.at[0] && p.unit(s.b.Y) == p.at[1] // would read as a whole circle
	if short || math.Abs(p.mm(r0-r1)) > min(tolerance, 0.002) {
		n := s.chords(tolerance / 2)
		for i := 1; i <= n; i++ {
			p.cut(s.at(float64(i)/float64(n)), z)
		}
		return
	}
	word := "G3"
	if s.bulge < 0 {
		word = "G2"
	}
	p.move(word, [3]float64{s.b.X, s.b.Y, z}, &c)
	Line{Nodes: []Node{{s.a, s.bulge}, {s.b, 0}}}.grow(&p.box)
	p.arcs++
	if z < 0 {
		p.length += s.length()
	}
}

func (p *program) take(q r2.Vec) { Line{Nodes: []Node{{Vec: q}}}.grow(&p.box) }

// spindle starts it at so many turns a minute; 0 leaves it alone.
func (p *program) spindle(rpm float64) {
	if rpm > 0 {
		p.put("S")
		p.num(rpm, 0)
		p.put(" M3\nG4 P3\n")
	}
}

// finish stops the spindle and ends the program.
func (p *program) finish(spindle bool) error {
	if spindle {
		p.put("M5\n")
	}
	p.put("M2\n")
	return p.end()
}

func (p *program) summary(name string, tolerance float64) Summary {
	s := Summary{Format: "G-code", Name: name, Units: "mm", Length: p.length, Tolerance: tolerance,
		Counts: map[string]int{"moves": p.moves, "arcs": p.arcs}}
	if p.inch {
		s.Units = "inch"
	}
	s.setBox(p.box)
	return s
}
