package export

import (
	"bytes"
	"errors"
	"io"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"brightcut/bar"
	"brightcut/fault"
)

// TestAnyTemplate: whatever is asked for is either refused with the field and the
// mend, or drawn: as a loop whose area is that between edge and back, less the
// holes, in every format, with finite numbers.
func TestAnyTemplate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := bar.Edge{
			Figure:    bar.Figure(rapid.IntRange(int(bar.Plain), int(bar.Zigzag)).Draw(t, "figure")),
			Wave:      rapid.Float64Range(0.5, 12).Draw(t, "wave"),
			Amplitude: rapid.Float64Range(0.01, 2).Draw(t, "amplitude"),
			Crest:     rapid.Float64Range(0, 0.9).Draw(t, "crest"),
			Nose:      rapid.Float64Range(0, 0.3).Draw(t, "nose"),
		}
		s := Shape{From: rapid.Float64Range(-40, 0).Draw(t, "from"), To: rapid.Float64Range(1, 40).Draw(t, "to"),
			Back: rapid.Float64Range(-1, 20).Draw(t, "back"), Ends: rapid.Float64Range(0, 10).Draw(t, "ends"), EndTop: rapid.Float64Range(-5, 3).Draw(t, "end top"),
			Bore: rapid.Float64Range(0, 12).Draw(t, "bore"), Tolerance: rapid.SampledFrom([]float64{0, 0.0005, 0.01}).Draw(t, "tolerance")}
		if rapid.Bool().Draw(t, "rosette") {
			e.Radius, e.Count, e.Wave = rapid.Float64Range(3, 80).Draw(t, "radius"), rapid.IntRange(1, 60).Draw(t, "count"), 0
		}
		if rapid.Bool().Draw(t, "hole") {
			s.Holes = []Hole{{At: r2.Vec{X: rapid.Float64Range(-40, 40).Draw(t, "x"), Y: rapid.Float64Range(-20, 20).Draw(t, "y")}, Diameter: rapid.Float64Range(0.2, 8).Draw(t, "diameter"), Length: rapid.SampledFrom([]float64{0, 3}).Draw(t, "length"), Angle: 0.4}}
		}
		tm, err := NewTemplate(e, s)
		if err != nil {
			var list fault.List
			if !errors.As(err, &list) || list[0].Problem == "" || list[0].Mend == "" {
				t.Fatalf("%v is no fault with its mend", err)
			}
			return
		}
		if a := tm.Outer.Area(); !(a > 0) {
			t.Fatalf("the outline has the area %v", a)
		}
		// The area by thin strips of the edge itself, as a twin.
		profile, _ := e.Profile()
		want, n := 0.0, 40_000
		if tm.Rosette {
			for i := range n {
				h, _ := profile.Height(2 * math.Pi * (float64(i) + 0.5) / float64(n))
				want += (e.Radius + h) * (e.Radius + h) / 2 * 2 * math.Pi / float64(n)
			}
			want -= math.Pi * s.Bore * s.Bore / 4
		} else {
			for i := range n {
				h, _ := profile.Height(s.From + (s.To-s.From)*(float64(i)+0.5)/float64(n))
				want += (h + s.Back) * (s.To - s.From) / float64(n)
			}
			if s.Ends > 0 {
				for _, at := range []float64{tm.borders[0].top[2].Y, tm.borders[0].top[len(tm.borders[0].top)-3].Y} {
					d := at - s.EndTop // a triangle under the flank
					want += s.Ends*(s.EndTop+s.Back) + math.Copysign(d*d/math.Tan(endFlank)/2, d)
				}
			}
		}
		for _, h := range s.Holes {
			want -= math.Pi*h.Diameter*h.Diameter/4 + h.Diameter*h.Length
		}
		if got := tm.Area(); math.Abs(got-want) > tm.Outer.Length()*(tm.Tolerance+1e-3) {
			t.Fatalf("the area is %.5f mm², by strips %.5f", got, want)
		}
		f := tm.Figure()
		for _, write := range []func(io.Writer) (Summary, error){
			func(w io.Writer) (Summary, error) { return SVG(w, f) },
			func(w io.Writer) (Summary, error) { return DXF(w, f, R12) },
			func(w io.Writer) (Summary, error) { return DXF(w, f, DXF2000) },
			func(w io.Writer) (Summary, error) {
				return Mill(w, tm, Milling{Cutter: 0.6, Thickness: 2, Pass: 1, Feed: 100, Plunge: 50, Spindle: 9000, Safe: 2})
			},
		} {
			var b bytes.Buffer
			s, err := write(&b)
			var list fault.List
			if errors.As(err, &list) {
				continue // the cutter does not go into a hole
			}
			if err != nil {
				t.Fatal(err)
			}
			if bytes.Contains(b.Bytes(), []byte("NaN")) || bytes.Contains(b.Bytes(), []byte("Inf")) || math.IsNaN(s.Length+s.Box[0]) {
				t.Fatalf("%s: a number that is none", s.Format)
			}
		}
	})
}
