package surface

import (
	"bytes"
	"context"
	"runtime"
	"sync"
	"sync/atomic"
	"unsafe"
)

// Band is some rows of a grid, carved: rows Row to Row+Rows−1 of Grid, the
// height of cell (i, Row+j) at Z[j·Stride+i] and the facet that made it at
// Facet[j·Stride+i], −1 where the blank is uncut. Facet is nil when facets were
// not asked for.
type Band struct {
	Grid      Grid
	Row, Rows int
	Stride    int
	Z         []float32
	Facet     []int32
}

// bandBytes is the size of a band's heights: a band stays in the second-level
// cache while all the strips that touch it are carved.
const bandBytes = 1 << 20

// bandRows returns how many rows a band of the grid has.
func bandRows(stride, ny int) int {
	return min(max(1, bandBytes/(4*stride)), ny)
}

// BandRows returns how many rows a band of Bands has on the grid; the last has fewer.
func (g Grid) BandRows() int { return bandRows(stride(g.Nx), g.Ny) }

// Carve lowers the heights of f to what the cuts leave. The caller has filled
// f.Z with the blank's own heights; a new field is flat stock.
func (k *Carver) Carve(ctx context.Context, f *Field) error {
	if err := f.check(); err != nil {
		return err
	}
	rows := bandRows(f.Stride, f.Ny)
	band := func(b int) *raster {
		row := b * rows
		n := min(rows, f.Ny-row)
		return k.raster(f.Grid, row, n, f.Stride, f.Z[row*f.Stride:][:(n-1)*f.Stride+f.Nx], nil)
	}
	// Stock that stands above the nominal surface is met further out, so those
	// bands wait for a second pass that knows how high it stands.
	var mu sync.Mutex
	top, high := 0.0, map[int]bool{}
	err := k.sweep(ctx, f.Grid, rows, 0, nil, func(b int, strips []int32) error {
		r := band(b)
		if t := highest(r); t > 0 {
			mu.Lock()
			high[b], top = true, max(top, t)
			mu.Unlock()
			return nil
		}
		k.carve(r, strips, 0)
		return nil
	})
	if err != nil || len(high) == 0 {
		return err
	}
	return k.sweep(ctx, f.Grid, rows, top, high, func(b int, strips []int32) error {
		r := band(b)
		k.carve(r, strips, top)
		return nil
	})
}

// highest returns the greatest height in r, or 0 when none is above it.
func highest(r *raster) float64 {
	h := float32(0)
	for j := range r.rows {
		z := r.z[j*r.stride:][:r.grid.Nx]
		if flat(z) {
			continue
		}
		for _, v := range z {
			h = max(h, v)
		}
	}
	return float64(h)
}

// flat says whether every height is +0, as in new stock: bytes are compared many
// at a time.
func flat(z []float32) bool {
	b := unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(z))), 4*len(z))
	for len(b) > len(zeros) {
		if !bytes.Equal(b[:len(zeros)], zeros[:]) {
			return false
		}
		b = b[len(zeros):]
	}
	return bytes.Equal(b, zeros[:len(b)])
}

var zeros [4096]byte

// Bands carves flat stock over a grid of any size, a band of rows at a time,
// and shows each band to visit once. Bands are begun from the lowest row up, and
// visited concurrently and in no fixed order; a Band and its slices belong to visit only until it returns. The
// first error of visit ends the work and is returned.
func (k *Carver) Bands(ctx context.Context, g Grid, facets bool, visit func(Band) error) error {
	if err := g.check(); err != nil {
		return err
	}
	stride, rows := stride(g.Nx), g.BandRows()
	buffers := sync.Pool{New: func() any {
		b := &Band{Grid: g, Stride: stride, Z: make([]float32, rows*stride)}
		if facets {
			b.Facet = make([]int32, rows*stride)
		}
		return b
	}}
	return k.sweep(ctx, g, rows, 0, nil, func(b int, strips []int32) error {
		band := buffers.Get().(*Band)
		defer buffers.Put(band)
		band.Row = b * rows
		band.Rows = min(rows, g.Ny-band.Row)
		clear(band.Z)
		for i := range band.Facet {
			band.Facet[i] = -1
		}
		r := k.raster(g, band.Row, band.Rows, stride, band.Z, band.Facet)
		k.carve(r, strips, 0)
		show := *band
		show.Z = band.Z[:band.Rows*stride]
		if facets {
			show.Facet = band.Facet[:band.Rows*stride]
		}
		return visit(show)
	})
}

// binItems bounds the memory of one share of the bins: 2²¹ strips are 8 MB.
const binItems = 1 << 21

// sweep calls work once for every band of the grid (every one in only, when
// that is not nil) with the strips that may touch it, in the order of cutting.
// It works on as many cores as there are.
func (k *Carver) sweep(ctx context.Context, g Grid, rows int, top float64, only map[int]bool, work func(band int, strips []int32) error) error {
	bands := (g.Ny + rows - 1) / rows
	spans := k.spans(g, rows, top)
	for from := 0; from < bands; {
		bins := bin(spans, from, bands, binItems)
		if err := each(ctx, bins.len(), func(i int) error {
			if only != nil && !only[from+i] {
				return nil
			}
			return work(from+i, bins.at(i))
		}); err != nil {
			return err
		}
		from += bins.len()
	}
	return nil
}

// span is the first and last band that a strip touches.
type span struct{ strip, first, last int32 }

// spans lists the strips that touch the grid.
func (k *Carver) spans(g Grid, rows int, top float64) []span {
	r := k.raster(g, 0, g.Ny, 0, nil, nil)
	out := make([]span, 0, len(k.strips))
	for n, s := range k.strips {
		a, b, ok := clip(r.tip(k.tips[s.first]), r.tip(k.tips[s.first+1]), top)
		if !ok {
			continue
		}
		lo, hi := r.vee.extent(a, b, top)
		if !r.meets(lo, hi) {
			continue
		}
		y0, y1 := max(lo.y, r.low), min(hi.y, r.high)
		out = append(out, span{int32(n), int32(y0) / int32(rows), int32(y1) / int32(rows)})
	}
	return out
}

// bins lists the strips of successive bands.
type bins struct {
	start []int // of each band's strips; one more at the end
	strip []int32
}

func (b bins) len() int         { return len(b.start) - 1 }
func (b bins) at(i int) []int32 { return b.strip[b.start[i]:b.start[i+1]] }

// bin sorts the spans into the bands from from on, as many as most strips allow
// but at least one.
func bin(spans []span, from, bands, most int) bins {
	count := make([]int, bands-from+1)
	for _, s := range spans {
		if int(s.last) < from {
			continue
		}
		count[max(int(s.first)-from, 0)]++
		count[int(s.last)-from+1]--
	}
	start := []int{0}
	open, sum := 0, 0
	for i := range bands - from {
		open += count[i]
		if sum += open; i > 0 && sum > most {
			break
		}
		start = append(start, sum)
	}
	b := bins{start: start, strip: make([]int32, start[len(start)-1])}
	next := append([]int(nil), start[:len(start)-1]...)
	for _, s := range spans {
		for i := max(int(s.first)-from, 0); i <= int(s.last)-from && i < b.len(); i++ {
			b.strip[next[i]] = s.strip
			next[i]++
		}
	}
	return b
}

// each calls work for 0 to n−1 on all cores, in rising order of starting, until
// one fails or the context ends.
func each(ctx context.Context, n int, work func(i int) error) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if err := work(i); err != nil {
					stop(err)
				}
			}
		})
	}
	wg.Wait()
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	return nil
}
