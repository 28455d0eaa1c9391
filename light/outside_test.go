package light

import (
	"bytes"
	_ "embed"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"testing"

	"brightcut/blank"
	"brightcut/engine"
)

//go:embed testdata/outside/grooves.csv
var outsideTable string

// outsideSky is the sky of the scenes in light/outside.
func outsideSky(d vec) float64 { return 0.2 + 0.5*d.z + 0.25*d.x + 0.3*d.x*d.x }

// The light of a flank in a groove of a mirror against a general-purpose renderer that
// follows rays over a whole pattern (POV-Ray 3.7, scenes and command in light/outside):
// within half a percent for every cutter from 60° to 150°, with and without lands.
// OUTSIDE names another table of such figures, just made.
func TestAgainstOutside(t *testing.T) {
	table := outsideTable
	if name := os.Getenv("OUTSIDE"); name != "" {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		table = string(b)
	}
	rows := csvRows(table)
	if len(rows) == 0 {
		t.Fatal("the table is empty")
	}
	for _, f := range rows {
		v := floats(f)
		got := grooved(t, 1/math.Tan(v[0]*math.Pi/360), 4000, 0.9, outsideSky)
		t.Logf("%v°, lands %v: %.5f, outside %.5f", v[0], v[1], got, v[2])
		near1(t, fmt.Sprintf("%v°", v[0]), got, v[2], 0.005*v[2])
	}
}

// Pictures of crossing grooves against the same renderer's at 81 samples to the pixel.
// At 130° no light goes from flank to flank and the pictures agree; at 100°, where it
// does, each flank is as bright on the whole but shaded from crest to root, which light
// does not show: so near by, the pictures differ by a sixteenth of the range.
func TestCrossingAgainstOutside(t *testing.T) {
	for _, c := range []struct{ included, within float64 }{{130, 0.75}, {100, 18}} {
		raw, err := os.ReadFile(fmt.Sprintf("testdata/outside/crossing-%g.png", c.included))
		if err != nil {
			t.Fatal(err)
		}
		want, err := png.Decode(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		depth := 0.5 / math.Tan(c.included*math.Pi/360)
		var cuts []engine.Cut
		for i := -20.0; i <= 20; i++ {
			for _, path := range [][]engine.Vertex{{{X: i, Y: -20, Z: -depth}, {X: i, Y: 20, Z: -depth}}, {{X: -20, Y: i, Z: -depth, Across: math.Pi / 2}, {X: 20, Y: i, Z: -depth, Across: math.Pi / 2}}} {
				cuts = append(cuts, engine.Cut{Number: len(cuts) + 1, Pieces: []engine.Piece{{Path: path}}})
			}
		}
		slab := &blank.Blank{Thickness: 9, Outline: blank.Shape{Form: blank.Rectangle, Width: 40, Height: 40}}
		p, err := begin(View{W: 200, H: 200, Width: 4, Samples: 4}, carved(t, cuts, c.included), slab, DefaultScene(metal(t, "silver")))
		if err != nil {
			t.Fatal(err)
		}
		// The same mirror under the same sky.
		mirror := plainShader(t, 600, 0.9)
		p.near = nearness{}
		of := func(face func(nx, ny float64) (face, groove)) *sheen {
			return &sheen{radiance: func(nx, ny float64) RGB {
				f, g := face(nx, ny)
				f.rough, f.fine = roughness{1e-3, 1e-3}, usual
				var total RGB
				mirror.ways(&f, g, func(w *way) { total = total.plus(w.lamp, outsideSky(w.from)) })
				return total
			}}
		}
		p.sheens = sheens{cut: of(mirror.flank), land: of(mirror.ground)}
		p.hold(false)
		if err := p.fill(t.Context(), nil); err != nil {
			t.Fatal(err)
		}
		var sum, outside, here float64
		for y := range 200 {
			for x := range 200 {
				linear := float64(want.(*image.Gray16).Gray16At(x, y).Y) / 65535
				outside += linear / 200 / 200
				// The tone curve turned round: below its knee the byte is the radiance.
				here += untoned(float64(p.image.NRGBAAt(x, y).G)/255) / 200 / 200
				d := float64(p.image.NRGBAAt(x, y).G) - 255*encode(tone(RGB{linear, linear, linear}).G)
				sum += math.Abs(d)
			}
		}
		t.Logf("%v°: the pictures differ by %.2f levels of 255 on average; mean radiance %.4f, outside %.4f", c.included, sum/200/200, here, outside)
		near1(t, "mean radiance", here, outside, 0.01*outside)
		if sum/200/200 > c.within {
			t.Errorf("%v°: the pictures differ by %.2f levels of 255 on average, more than %v", c.included, sum/200/200, c.within)
		}
	}
}

// untoned is the radiance of a grey that the tone curve and the encoding made a value
// of, from 0 to 1, by halving.
func untoned(v float64) float64 {
	low, high := 0.0, 4.0
	for range 50 {
		m := (low + high) / 2
		if encode(tone(RGB{m, m, m}).G) < v {
			low = m
		} else {
			high = m
		}
	}
	return (low + high) / 2
}
