package light

import (
	"bytes"
	"context"
	"image"
	"math"
	"runtime"
	"sync"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/surface"
)

var mu sync.Mutex // bands come at the same time

// twin makes the inside of a picture the slow and obvious way: every pixel is the
// weighted mean of n×n samples in it and in each of its eight neighbours, each
// with the slope of its own facet, and no edge is moved.

func twin(t testing.TB, v View, k carving, s Scene, n int) [][3]float64 {
	t.Helper()
	sheens, at := newSheens(s), s.nearness()
	cell := v.Pixel() / float64(n)
	g := surface.Grid{
		X0: v.Centre.X - v.Width/2 - v.Pixel() + cell/2, Cell: cell,
		Y0: v.Centre.Y - v.Pixel()*(float64(v.H)/2+1) + cell/2,
		Nx: (v.W + 2) * n, Ny: (v.H + 2) * n,
	}
	weight := kernel(n)
	out := make([][3]float64, v.W*v.H)
	err := k.Bands(t.Context(), g, true, func(b surface.Band) error {
		mu.Lock()
		defer mu.Unlock()
		for j := range b.Rows {
			y := g.Y0 + float64(b.Row+j)*cell
			py := (b.Row + j) / n // counted upwards from the row below the picture
			for i := range g.Nx {
				x := g.X0 + float64(i)*cell
				var gx, gy float64
				f := b.Facet[j*b.Stride+i]
				if f >= 0 {
					gx, gy = k.Slope(f, x, y)
				}
				c := sheens.of(f).at(at.seen(float32(gx), float32(gy), x, y))
				for dy := -1; dy <= 1; dy++ {
					for dx := -1; dx <= 1; dx++ {
						px, row := i/n-1+dx, v.H-(py+dy)
						if px < 0 || px >= v.W || row < 0 || row >= v.H {
							continue
						}
						w := float64(weight[i%n+(1-dx)*n]) * float64(weight[(b.Row+j)%n+(1-dy)*n])
						for q := range 3 {
							out[row*v.W+px][q] += w * float64(c[q])
						}
					}
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range out {
		l := tone(RGB{max(0, c[0]), max(0, c[1]), max(0, c[2])})
		for q, u := range [3]float64{l.R, l.G, l.B} {
			out[i][q] = 255 * encode(u)
		}
	}
	return out
}

// unplaced hides the heights, so that no edge can be placed.
type unplaced struct{ carving }

func (u unplaced) Bands(ctx context.Context, g surface.Grid, facets bool, visit func(surface.Band) error) error {
	return u.carving.Bands(ctx, g, facets, func(b surface.Band) error {
		for i := range b.Z {
			b.Z[i] = float32(math.NaN())
		}
		return visit(b)
	})
}

// Pictures of the workloads at 4×4 samples must be within 2 % of the range of
// what 1024 samples give (benchmarks of this project). The test looks at patches
// of 1200-pixel and 400-pixel pictures; the log holds the table of what fewer
// samples, and samples without placed edges, leave.
func TestAgainstManySamples(t *testing.T) {
	places := map[string]r2.Vec{"W1": {X: 10, Y: 11}, "W2": {X: 2.5, Y: 4.5}, "W3": {X: -6, Y: 7}}
	s := DefaultScene(metal(t, "silver"))
	bare := &blank.Blank{Thickness: 1, Outline: blank.Shape{Form: blank.Disc, Diameter: 500}}
	for _, w := range workloads() {
		k := carved(t, w.cuts, 130)
		for _, pixels := range []int{1200, 400} {
			whole := Whole(w.blank, pixels)
			v := View{Centre: places[w.name], W: 16, H: 14, Width: 16 * whole.Pixel()}
			want := twin(t, v, k, s, 32) // 1024 samples
			measure := func(k carving, samples int) float64 {
				v.Samples = samples
				img, err := render(t.Context(), v, k, bare, s, nil)
				if err != nil {
					t.Fatal(err)
				}
				var sum float64
				for i, c := range want {
					for q, u := range c {
						d := float64(img.Pix[4*i+q]) - u
						sum += d * d
					}
				}
				return math.Sqrt(sum / float64(3*len(want)))
			}
			got := measure(k, 4)
			t.Logf("%s at %4d px: rms of 255: 2×2 %5.2f, 4×4 %5.2f; edges not placed: 1×1 %5.2f, 2×2 %5.2f, 4×4 %5.2f",
				w.name, pixels, measure(k, 2), got, measure(unplaced{k}, 1), measure(unplaced{k}, 2), measure(unplaced{k}, 4))
			if got > 0.02*255 {
				t.Errorf("%s at %d pixels: rms %.2f of 255 against 1024 samples, more than 2 %%", w.name, pixels, got)
			}
		}
	}
}

// The picture must not depend on how many cores make it, nor on how much of the
// carving is held meanwhile: a film holds all.
func TestSameBytesOnAnyCores(t *testing.T) {
	w := workloads()[2]
	k, s := carved(t, w.cuts, 130), DefaultScene(metal(t, "gold"))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, v := range []View{
		Whole(w.blank, 100),
		{Width: 30, W: 500, H: 400, Samples: 4},
		{Width: 30, W: 1500, H: 40, Samples: 8}, // few rows to a task
		{Width: 2, W: 20, H: 3000, Samples: 3},  // more lines to a band than to a task
	} {
		var first []uint8
		err := Film(t.Context(), v, k, w.blank, 2, func(int) Scene { return s }, func(i int, img *image.NRGBA) error {
			if i > 0 && !bytes.Equal(first, img.Pix) {
				t.Errorf("%+v: the second frame of the same scene differs", v)
			}
			first = bytes.Clone(img.Pix)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, cores := range []int{1, 2, 7} {
			runtime.GOMAXPROCS(cores)
			img, err := Render(t.Context(), v, k, w.blank, s, nil)
			if err != nil {
				t.Fatal(err)
			}
			for i := range first {
				if img.Pix[i] != first[i] {
					t.Fatalf("%+v, %d cores: byte %d of pixel (%d, %d) is %d; of the film %d", v, cores, i%4, i/4%v.W, i/4/v.W, img.Pix[i], first[i])
				}
			}
		}
	}
}
