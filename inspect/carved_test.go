package inspect

import (
	"context"
	"math"
	"slices"
	"testing"

	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/examples"
	"brightcut/job"
	"brightcut/surface"

	"gonum.org/v1/gonum/spatial/r2"
)

// load plans a job of the example workshop.
func load(t testing.TB, name string) Piece {
	t.Helper()
	j, err := job.ReadFS(examples.Workshop, name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := Planned(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// bench is a piece as it was really cut: every vertex of every cut displaced as a
// body, whatever the package makes of it.
type bench struct {
	piece  Piece
	cutter cutter.Cutter
	rose   bool
	deep   func(j int, x, y float64) float64
	slide  func(j int) float64
	turn   func(j int) float64
	shift  func(j int) float64
	paths  [][][]engine.Vertex // of each cut and piece, as displaced
	boxes  [][]r2.Box
}

// lay works the displaced paths out.
func (b *bench) lay() {
	if b.paths != nil {
		return
	}
	for j := range b.piece.List.Cuts {
		var paths [][]engine.Vertex
		var boxes []r2.Box
		for _, p := range b.piece.List.Cuts[j].Pieces {
			path := make([]engine.Vertex, len(p.Path))
			box := r2.Box{Min: r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, Max: r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}}
			for k, v := range p.Path {
				w := b.displaced(j, v)
				path[k] = w
				box.Min.X, box.Min.Y = min(box.Min.X, w.X), min(box.Min.Y, w.Y)
				box.Max.X, box.Max.Y = max(box.Max.X, w.X), max(box.Max.Y, w.Y)
			}
			paths, boxes = append(paths, path), append(boxes, box)
		}
		b.paths, b.boxes = append(b.paths, paths), append(b.boxes, boxes)
	}
}

func newBench(p Piece) *bench {
	none := func(int) float64 { return 0 }
	return &bench{piece: p, cutter: p.Job.Setup.Cutter, rose: p.Job.Setup.Engine.Kind == engine.Rose,
		deep: func(int, float64, float64) float64 { return 0 }, slide: none, turn: none, shift: none}
}

// displaced returns the vertex of cut j where it really was.
func (b *bench) displaced(j int, v engine.Vertex) engine.Vertex {
	v.Z -= b.deep(j, v.X, v.Y)
	sin, cos := math.Sincos(v.Across)
	v.X += b.slide(j) * cos
	v.Y += b.slide(j) * sin
	turn := b.turn(j)
	if s := b.shift(j); b.rose {
		turn -= s // r(θ + s) is the ring turned back
	} else {
		v.X += s * sin // the wave goes down the stroke
		v.Y -= s * cos
	}
	if turn != 0 {
		sin, cos := math.Sincos(turn)
		v.X, v.Y = v.X*cos-v.Y*sin, v.X*sin+v.Y*cos
		v.Across += turn
	}
	return v
}

// vertexAt returns the vertex of a really cut path at a reading.
func (b *bench) vertexAt(j int, reading float64) (engine.Vertex, bool) {
	for i, p := range b.piece.List.Cuts[j].Pieces {
		r := reading + b.shift(j) // what was there before the path was shifted
		if b.rose && p.Closed {
			r = p.Readings[0] + math.Mod(math.Mod(r-p.Readings[0], 2*math.Pi)+2*math.Pi, 2*math.Pi)
		}
		n := len(p.Readings)
		if r < p.Readings[0] || r > p.Readings[n-1] {
			continue
		}
		k, _ := slices.BinarySearch(p.Readings, r)
		k = min(max(k, 1), n-1)
		s := (r - p.Readings[k-1]) / (p.Readings[k] - p.Readings[k-1])
		b.lay()
		a, c := b.paths[j][i][k-1], b.paths[j][i][k]
		return engine.Vertex{X: a.X + s*(c.X-a.X), Y: a.Y + s*(c.Y-a.Y), Z: a.Z + s*(c.Z-a.Z), Across: a.Across + s*(c.Across-a.Across)}, true
	}
	return engine.Vertex{}, false
}

// seen carves what lies round a place and reads the width off the heights: from the
// bottom of the groove outwards until they rise no more.
func (b *bench) seen(t testing.TB, j int, reading float64) (width float64, ok bool) {
	const reach, round = 0.32, 0.7
	v, ok := b.vertexAt(j, reading)
	if !ok {
		return 0, false
	}
	var local []engine.Cut
	for i := range b.piece.List.Cuts {
		c := b.piece.List.Cuts[i]
		var pieces []engine.Piece
		for m, path := range b.paths[i] {
			box := b.boxes[i][m]
			if v.X < box.Min.X-round || v.X > box.Max.X+round || v.Y < box.Min.Y-round || v.Y > box.Max.Y+round {
				continue
			}
			// The stretches of the path that pass near.
			first := -1
			for k := 1; k <= len(path); k++ {
				near := k < len(path) && apart(v, path[k-1], path[k]) < round
				if near && first < 0 {
					first = k - 1
				}
				if !near && first >= 0 {
					last := min(k, len(path))
					pieces = append(pieces, engine.Piece{Path: path[first:last], Readings: c.Pieces[m].Readings[first:last]})
					first = -1
				}
			}
		}
		if len(pieces) > 0 {
			c.Pieces = pieces
			local = append(local, c)
		}
	}
	carver, err := surface.NewCarver(local, b.cutter)
	if err != nil {
		t.Fatal(err)
	}
	sin, cos := math.Sincos(v.Across)
	at, u := r2.Vec{X: v.X, Y: v.Y}, r2.Vec{X: cos, Y: sin}
	const n = 1281
	z, err := carver.Section(context.Background(), r2.Add(at, r2.Scale(-reach, u)), r2.Add(at, r2.Scale(reach, u)), n)
	if err != nil {
		t.Fatal(err)
	}
	const step = 2 * reach / (n - 1)
	middle := n / 2
	if math.Abs(z[middle]-v.Z) > 3e-6 {
		return 0, false // another cut took the bottom away
	}
	for _, way := range []int{-1, 1} {
		i := middle
		for i+way > 0 && i+way < n-1 && (z[i+way] > z[i]+1e-6 || math.Abs(float64(i-middle))*step < b.cutter.Flat/2) && z[i] < -1e-7 {
			i += way
		}
		// Between the last places: both flanks, or flank and ground, prolonged.
		edge := math.Abs(float64(i-middle)) * step
		if k := i - way; z[i] >= -1e-7 && k != middle {
			rise := (z[k] - z[k-way]) / step
			edge = math.Abs(float64(k-middle))*step - z[k]/rise
		} else if i+2*way > 0 && i+2*way < n {
			up := (z[i-way] - z[i-2*way]) / step
			down := (z[i+2*way] - z[i+way]) / step
			// z[i−1] + up·x = z[i+1] + down·(x − 2)
			x := (z[i+way] - 2*step*down - z[i-way]) / (up - down)
			if x >= 0 && x <= 2*step {
				edge = math.Abs(float64(i-way-middle))*step + x
			}
		}
		width += edge
	}
	return width, true
}

// apart returns how far a place lies from a stretch.
func apart(v, a, b engine.Vertex) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	s := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		s = min(max(((v.X-a.X)*dx+(v.Y-a.Y)*dy)/l, 0), 1)
	}
	return math.Hypot(a.X+s*dx-v.X, a.Y+s*dy-v.Y)
}

// pitch measures from the axis of cut j across to that of the cut before.
func (b *bench) pitch(j int, reading float64) float64 {
	v, ok := b.vertexAt(j, reading)
	if !ok || j == 0 {
		return 0
	}
	sin, cos := math.Sincos(v.Across)
	best := math.Inf(1)
	for _, path := range b.paths[j-1] {
		for k := 1; k < len(path); k++ {
			x, y := path[k-1], path[k]
			// Where the stretch meets the line across.
			s0 := -(x.X-v.X)*sin + (x.Y-v.Y)*cos
			s1 := -(y.X-v.X)*sin + (y.Y-v.Y)*cos
			if s0*s1 > 0 || s0 == s1 {
				continue
			}
			f := s0 / (s0 - s1)
			t := (x.X+f*(y.X-x.X)-v.X)*cos + (x.Y+f*(y.Y-x.Y)-v.Y)*sin
			best = min(best, math.Abs(t))
		}
	}
	if best > 2 {
		return 0
	}
	return best
}

// The widths foretold are those of the carved surface, as planned and with every cut
// displaced in every way.
func TestWidthsAreThoseOfTheCarvedSurface(t *testing.T) {
	for _, name := range []string{"barleycorn", "waves-in-step", "sunburst", "drifting-sunburst", "concentric-waves", "barleycorn-rings", "inch-barleycorn", "parallel-lines"} {
		p := load(t, name)
		r, err := newRig(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, displaced := range []bool{false, true} {
			b := newBench(p)
			if displaced {
				b.deep = func(j int, _, _ float64) float64 { return 0.003 * math.Sin(float64(7*j)) }
				b.slide = func(j int) float64 { return 0.004 * math.Sin(float64(5*j)) }
				b.turn = func(j int) float64 { return 0.0003 * math.Sin(float64(11*j)) }
				b.shift = func(j int) float64 { return 0.002 * math.Sin(float64(13*j)) }
				b.cutter.Included += 0.02
				b.cutter.Flat += 0.003
			}
			c := vee{math.Tan(b.cutter.Half()), b.cutter.Flat}
			worst, places := 0.0, 0
			n := len(r.tracks)
			for j := 1; j < n; j += max(1, n/8) {
				q := &r.tracks[j].pieces[0]
				for _, share := range []float64{0.13, 0.37, 0.71, 0.9} {
					place := q.reading[0] + share*(q.reading[len(q.reading)-1]-q.reading[0])
					want, ok := b.seen(t, j, place)
					v, there := r.look(j, place, 0)
					if !ok || !there || b.pitch(j, place) < 0.02 && b.pitch(j, place) > 0 {
						continue // where two grooves run in one, no eye finds the edge
					}
					at := make([]moved, len(v.near))
					for k, i := range v.near {
						at[k] = moved{b.deep(i, v.x, v.y), b.slide(i), b.turn(i), b.shift(i)}
					}
					got, pitch := r.width(&v, at, c)
					if d := math.Abs(got - want); d > worst {
						worst = d
						if d > 0.001 {
							t.Errorf("%s, displaced %v: cut %d at %.4f: %.5f mm foretold, %.5f carved", name, displaced, j+1, place, got, want)
						}
					}
					if by := b.pitch(j, place); by > 0 && !math.IsNaN(pitch) && math.Abs(by-pitch) > 0.0005 {
						t.Errorf("%s, displaced %v: cut %d at %.4f: pitch %.5f mm foretold, %.5f laid off", name, displaced, j+1, place, pitch, by)
					}
					places++
				}
			}
			t.Logf("%s, displaced %v: %d places, worst %.2f µm", name, displaced, places, 1000*worst)
			if places < 15 {
				t.Errorf("%s: only %d places", name, places)
			}
		}
	}
}
