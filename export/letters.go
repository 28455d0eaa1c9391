package export

import (
	"fmt"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
)

// letterFace is the face of engraved names: upright, of even strokes that a small
// cutter can follow.
var letterFace = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(gobold.TTF) })

// letterChords is into how many chords a curve of a letter is broken: a curve of
// the face spans a quarter of a round at most, and 8 chords keep within a
// thousandth of its size.
const letterChords = 8

// MaxText is how many letters a name may have.
const MaxText = 200

// loops returns the outlines of the text, mm. The error is a fault.List.
func (e *Lettering) loops() ([][]r2.Vec, error) {
	bad := func(field, problem, mend string) error {
		return fault.List{{Field: "name." + field, Problem: problem, Mend: mend}}
	}
	if !(e.Height >= 0.2 && e.Height <= 1000) {
		return nil, bad("height", fmt.Sprintf("letters %g mm high cannot be made", e.Height), "give a height between 0.2 and 1000 mm")
	}
	if n := len([]rune(e.Text)); n > MaxText {
		return nil, bad("text", fmt.Sprintf("it has %d letters", n), fmt.Sprintf("write at most %d", MaxText))
	}
	if math.IsNaN(e.Angle) || math.IsInf(e.Angle, 0) || !(math.Abs(e.At.X)+math.Abs(e.At.Y) < 1e5) {
		return nil, bad("at", "it is no place on the face", "give the middle of the text in mm")
	}
	f, err := letterFace()
	if err != nil {
		return nil, fmt.Errorf("export: reading the face of engraved letters: %w", err)
	}
	var buf sfnt.Buffer
	const ppem = 2048 // of the face: its own units, so that nothing is rounded
	size := fixed.I(ppem)
	m, err := f.Metrics(&buf, size, font.HintingNone)
	if err != nil {
		return nil, fmt.Errorf("export: reading the face of engraved letters: %w", err)
	}
	pen, last := fixed.Int26_6(0), sfnt.GlyphIndex(0)
	var loops [][]r2.Vec
	for _, r := range e.Text {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil || g == 0 {
			return nil, bad("text", fmt.Sprintf("the face has no letter %q", r), "write it in other letters")
		}
		if last != 0 {
			if k, err := f.Kern(&buf, last, g, size, font.HintingNone); err == nil {
				pen += k
			}
		}
		segs, err := f.LoadGlyph(&buf, g, size, nil)
		if err != nil {
			return nil, fmt.Errorf("export: reading the letter %q: %w", r, err)
		}
		loops = append(loops, glyphLoops(segs, pen)...)
		adv, err := f.GlyphAdvance(&buf, g, size, font.HintingNone)
		if err != nil {
			return nil, fmt.Errorf("export: reading the letter %q: %w", r, err)
		}
		pen, last = pen+adv, g
	}
	scale := e.Height / float64(m.CapHeight)
	sin, cos := math.Sincos(e.Angle)
	for _, l := range loops {
		for i, p := range l {
			x, y := (p.X-float64(pen)/2)*scale, (-p.Y-float64(m.CapHeight)/2)*scale
			l[i] = r2.Vec{X: e.At.X + x*cos - y*sin, Y: e.At.Y + x*sin + y*cos}
		}
	}
	return loops, nil
}

// glyphLoops are the loops of one letter, in the units of the face, y down.
func glyphLoops(segs sfnt.Segments, pen fixed.Int26_6) (loops [][]r2.Vec) {
	at := func(p fixed.Point26_6) r2.Vec { return r2.Vec{X: float64(p.X + pen), Y: float64(p.Y)} }
	var loop []r2.Vec
	end := func() {
		if n := len(loop); n > 1 && loop[0] == loop[n-1] {
			loop = loop[:n-1]
		}
		if len(loop) > 2 {
			loops = append(loops, loop)
		}
		loop = nil
	}
	for _, s := range segs {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			end()
			loop = append(loop, at(s.Args[0]))
		case sfnt.SegmentOpLineTo:
			loop = append(loop, at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			a, b, c := loop[len(loop)-1], at(s.Args[0]), at(s.Args[1])
			for i := 1; i <= letterChords; i++ {
				t := float64(i) / letterChords
				loop = append(loop, r2.Add(r2.Add(r2.Scale((1-t)*(1-t), a), r2.Scale(2*t*(1-t), b)), r2.Scale(t*t, c)))
			}
		case sfnt.SegmentOpCubeTo: // no TrueType face has them
			loop = append(loop, at(s.Args[2]))
		}
	}
	end()
	return loops
}

// lettersFit finds letters that come too near to the outline or a hole.
func lettersFit(loops, letters [][]r2.Vec) error {
	const least = 0.05 // mm of metal left between
	for _, l := range letters {
		for i, o := range loops {
			if in := inside(o, l[0]); in != (i == 0) || apart(o, l) < least {
				return fault.List{{Field: "name", Problem: fmt.Sprintf("a letter comes within %g mm of the outline or of a hole, or lies outside the metal", least),
					Mend: "make the letters smaller, or move them to where there is metal"}}
			}
		}
	}
	return nil
}
