package light

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/fault"
)

// View is the part of the work that a picture shows, and how finely.
type View struct {
	Centre  r2.Vec  // place on the work in the middle of the picture
	Width   float64 // of the work from the picture's left edge to its right, mm
	W, H    int     // pixels
	Samples int     // along each side of a pixel; 4 gives 4×4
}

// What a View may ask for. The picture in memory takes 4 bytes a pixel.
const (
	MaxPixels  = 100_000_000
	MaxSide    = 32_768
	MaxSamples = 32
	maxAcross  = 1 << 18 // samples in a row
)

// Whole is a view of the whole blank with a margin of 4 % round it, the longer
// side of the picture being of the given number of pixels.
func Whole(b *blank.Blank, pixels int) View {
	box := b.Bounds()
	size := r2.Sub(box.Max, box.Min)
	v := View{Centre: r2.Scale(0.5, r2.Add(box.Min, box.Max)), Samples: 4, W: pixels, H: pixels}
	margin := float64(0.08 * max(size.X, size.Y))
	w, h := size.X+margin, size.Y+margin
	if w >= h {
		v.Width = w
		v.H = max(1, int(math.Round(float64(pixels)*h/w)))
		return v
	}
	v.W = max(1, int(math.Round(float64(pixels)*w/h)))
	v.Width = float64(v.W) * h / float64(pixels)
	return v
}

// Pixel is the side of a pixel on the work, mm.
func (v View) Pixel() float64 { return v.Width / float64(v.W) }

// across is how many samples a row has, with those outside the picture.
func (v View) across() int { return (v.W+2)*v.Samples + 2 }

// Check returns what is wrong with a view that a person has asked for, as a
// fault.List.
func (v View) Check() error {
	var f fault.List
	bad := func(field, problem, mend string) {
		f = append(f, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	switch {
	case v.W < 1 || v.H < 1:
		bad("pixels", fmt.Sprintf("a picture of %d × %d pixels shows nothing", v.W, v.H), "give at least 1 × 1")
	case v.W > MaxSide || v.H > MaxSide || v.W*v.H > MaxPixels:
		bad("pixels", fmt.Sprintf("a picture of %d × %d pixels is larger than can be held", v.W, v.H),
			fmt.Sprintf("stay within %d million pixels and %d to a side, or show the work in parts", MaxPixels/1_000_000, MaxSide))
	}
	if v.Samples < 1 || v.Samples > MaxSamples {
		bad("samples", fmt.Sprintf("%d samples along the side of a pixel cannot be taken", v.Samples),
			fmt.Sprintf("give 1 to %d; 4 is enough", MaxSamples))
	} else if v.W > 0 && v.W <= MaxSide && v.across() > maxAcross {
		bad("samples", fmt.Sprintf("%d pixels of %d samples make a row of more than %d samples", v.W, v.Samples, maxAcross),
			"take fewer samples or fewer pixels; 4 samples are enough")
	}
	if !(v.Width > 0) || math.IsInf(v.Width, 0) {
		bad("width", fmt.Sprintf("%v mm is no width of the work", v.Width), "give a width above 0")
	} else if v.W > 0 && (v.Pixel() < 1e-6 || v.Width > 1e6) {
		bad("width", fmt.Sprintf("%.4g mm over %d pixels is beyond what can be seen or cut", v.Width, v.W), "give between a nanometre a pixel and a kilometre")
	}
	if !(math.Abs(v.Centre.X) < 1e6 && math.Abs(v.Centre.Y) < 1e6) {
		bad("centre", "it does not lie on the work", "give a place near the chuck's centre, mm")
	}
	return f.Err()
}
