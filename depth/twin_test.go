package depth

import (
	"context"
	"fmt"
	"math"
	"sync"
	"testing"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/surface"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// twinStocks are made once: flat, bowed, with a bump, and far out of true, on 12 mm.
var twinStocks = sync.OnceValue(func() []*Stock {
	b := &blank.Blank{Thickness: 1, Outline: blank.Shape{Form: blank.Disc, Diameter: 12}}
	form := func(z func(x, y float64) float64) *Stock {
		rs := &blank.Readings{Name: "twin"}
		for j := -4; j <= 4; j++ {
			for i := -4; i <= 4; i++ {
				x, y := 1.45*float64(i), 1.5*float64(j)
				rs.Points = append(rs.Points, blank.Reading{Place: r2.Vec{X: x, Y: y}, Z: z(x, y)})
			}
		}
		r, err := rs.Residual(blank.ResidualOptions{Noise: 0.0002})
		if err != nil {
			panic(err)
		}
		s, err := NewStock(b, blank.Nominal{}, r, true)
		if err != nil {
			panic(err)
		}
		return s
	}
	return []*Stock{
		nil,
		form(func(x, y float64) float64 { return 0.011 - (x*x-0.3*x*y)/1500 }),
		form(func(x, y float64) float64 { return 0.02*math.Exp(-(x*x+y*y)/9) + 0.002*y }),
		form(func(x, y float64) float64 { return 0.07*x - 0.05*y + x*y/900 }),
	}
})

// drawWork draws a small job of either engine.
func drawWork(t *rapid.T) *Work {
	num := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	w := &Work{
		Cutter: cutter.Cutter{Included: num(70, 155, "included") * deg, Flat: rapid.SampledFrom([]float64{0, 0, 0.02}).Draw(t, "flat"), Clearance: 15 * deg},
		Blank:  &blank.Blank{Thickness: 1, Outline: blank.Shape{Form: blank.Disc, Diameter: 12}},
		Stop:   &Stop{Compliance: num(0, 0.0003, "stop's give")},
		Guide: &Guide{Offset: num(0.1, 0.7, "offset"), Side: rapid.SampledFrom([]Side{Left, Right}).Draw(t, "side"),
			Extension: num(0.02, 0.06, "extension"), Compliance: num(0, 0.0004, "give")},
		Pressure: Pressure{Force: num(0, 15, "force")},
		Cell:     num(0.02, 0.03, "cell"),
	}
	rose := rapid.Bool().Draw(t, "rose engine")
	stocks := twinStocks()
	if rose { // far out of true the planes that stand in for a ring's flanks are split too differently
		stocks = stocks[:3]
	}
	w.Stock = rapid.SampledFrom(stocks).Draw(t, "stock")
	// The broken rim of a flat foot makes three times as much of an edge's place as
	// the flank does, so it is tried where flanks are exact.
	if !rose && rapid.Bool().Draw(t, "flat foot") {
		w.Guide.FootWidth = num(0.1, 0.8, "width")
	} else {
		w.Guide.FootRadius = num(0.2, 0.9, "radius")
	}
	if rapid.Bool().Draw(t, "window") {
		w.Blank.Windows = []blank.Window{{Name: "aperture", Open: true, Shape: blank.Shape{Form: blank.Disc, Diameter: num(0.3, 2, "hole"), Centre: r2.Vec{X: num(-2, 2, "hole x"), Y: num(-2, 2, "hole y")}}}}
	}
	w.Pitch = w.Cell * rapid.SampledFrom([]float64{2, 4, 6}).Draw(t, "pitch")
	list := &engine.List{}
	n := rapid.IntRange(2, 5).Draw(t, "cuts")
	turn, step := num(-0.12, 0.12, "turn"), num(-0.25, 0.25, "step")
	first, amplitude, wave := num(-1.5, 1.5, "first"), num(0, 0.2, "amplitude"), num(1, 4, "wave")
	for i := range n {
		d := 0.045
		if rapid.IntRange(0, 4).Draw(t, "deeper") == 0 {
			d = 0.06
		}
		c := engine.Cut{Number: i + 1, Depth: d}
		var p engine.Piece
		const places = 120
		for k := range places + 1 {
			u := float64(k) / places
			if rose {
				a := 2 * math.Pi * u
				r := math.Abs(first) + 0.6 + math.Abs(step)*float64(i) + amplitude*math.Sin(3*a+float64(i)*wave)
				p.Path = append(p.Path, engine.Vertex{X: r * math.Cos(a), Y: r * math.Sin(a), Z: -d, Across: a})
				p.Readings = append(p.Readings, a)
				p.Closed = true
			} else {
				a, y := turn*float64(i), -0.8+1.6*u
				x := first + step*float64(i) + amplitude*math.Sin(2*math.Pi*y/wave)
				sin, cos := math.Sincos(a)
				p.Path = append(p.Path, engine.Vertex{X: x*cos - y*sin, Y: x*sin + y*cos, Z: -d, Across: a})
				p.Readings = append(p.Readings, y)
			}
		}
		p.Start, p.Stop = p.Readings[0], p.Readings[places]
		c.Pieces = []engine.Piece{p}
		list.Cuts = append(list.Cuts, c)
	}
	w.List = list
	return w
}

// twin predicts cuts held by the guide the plain way: the whole ground carved
// afresh for each cut, and every cell and crest under the foot looked at. every
// puts every place into the paths.
func twin(t interface{ Fatal(...any) }, w *Work, m *task, every bool) [][]float64 {
	g := m.ground.field.Grid
	metal := w.Blank.Ground()
	base := w.List.Cuts[0].Depth
	stock := m.ground.stockAt // how near it is to the form: TestStockBetweenTiles
	uncut, err := surface.NewField(g)
	if err != nil {
		t.Fatal(err)
	}
	for j := range g.Ny {
		for k := range g.Nx {
			x, y := g.At(k, j)
			uncut.Row(j)[k] = float32(stock(x, y))
			if metal.Distance(r2.Vec{X: x, Y: y}) > 0 {
				uncut.Row(j)[k] = nothing
			}
		}
	}
	f := *uncut
	f.Z = make([]float32, len(uncut.Z))
	var done []engine.Cut
	var out [][]float64
	for i := range w.List.Cuts {
		copy(f.Z, uncut.Z)
		k, err := surface.NewCarver(done, w.Cutter)
		if err != nil {
			t.Fatal(err)
		}
		if err := k.Carve(context.Background(), &f); err != nil {
			t.Fatal(err)
		}
		c := w.List.Cuts[i]
		spots := m.spots(nil, i)
		tips, short := make([]float64, len(spots)), make([]float32, len(spots))
		var p engine.Piece
		for j := range spots {
			s := &spots[j]
			x, y := m.foot(s)
			high := max(dilate(&f, w.Guide, x, y, stock), stock(x, y)-mostFall*c.Depth)
			tips[j] = high - (w.Guide.Extension + c.Depth - base) - w.Guide.Compliance*w.Pressure.Force
			short[j] = float32(tips[j])
			p.Path = append(p.Path, engine.Vertex{X: s.x, Y: s.y, Z: tips[j], Across: s.across})
			p.Readings = append(p.Readings, s.reading)
		}
		if every {
			p = withVertices(p, &c.Pieces[0])
		} else {
			p = shaped(&c, spots, short)[0]
		}
		out = append(out, tips)
		done = append(done, engine.Cut{Number: i + 1, Pieces: []engine.Piece{p}})
	}
	return out
}

// withVertices adds the vertices of a job's path to one of places.
func withVertices(p engine.Piece, own *engine.Piece) (out engine.Piece) {
	k := 0
	for j, v := range p.Path {
		for ; k < len(own.Path) && j > 0 && own.Readings[k] < p.Readings[j]; k++ {
			if own.Readings[k] <= p.Readings[j-1] {
				continue
			}
			u := own.Path[k]
			share := (own.Readings[k] - p.Readings[j-1]) / (p.Readings[j] - p.Readings[j-1])
			u.Z = p.Path[j-1].Z + share*(v.Z-p.Path[j-1].Z)
			out.Path = append(out.Path, u)
		}
		out.Path = append(out.Path, v)
	}
	return out
}

// dilate returns the height of the foot over (x, y), every cell looked at.
func dilate(f *surface.Field, g *Guide, x, y float64, stock func(x, y float64) float64) float64 {
	best := math.Inf(-1)
	try := func(px, py, z float64) {
		q := (px-x)*(px-x) + (py-y)*(py-y)
		switch {
		case z <= nothing:
		case g.FootRadius > 0 && q <= g.FootRadius*g.FootRadius:
			best = max(best, z-g.FootRadius+math.Sqrt(g.FootRadius*g.FootRadius-q))
		case g.FootRadius == 0 && q <= g.FootWidth*g.FootWidth/4:
			best = max(best, z-max(0, math.Sqrt(q)-(g.FootWidth/2-bevel)))
		}
	}
	at := func(i, j int) (float64, bool) {
		if i < 0 || j < 0 || i >= f.Nx || j >= f.Ny {
			return 0, false
		}
		z := f.Row(j)[i]
		return float64(z), z > nothing
	}
	uncut := true
	for _, d := range [4][2]int{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
		i, j := int(math.Floor((x-f.X0)/f.Cell))+d[0], int(math.Floor((y-f.Y0)/f.Cell))+d[1]
		z, ok := at(i, j)
		px, py := f.At(i, j)
		uncut = uncut && ok && z >= stock(px, py)-2e-5
	}
	if uncut {
		try(x, y, stock(x, y))
	}
	reach := int((g.FootRadius+g.FootWidth)/f.Cell) + 2
	ci, cj := int(math.Round((x-f.X0)/f.Cell)), int(math.Round((y-f.Y0)/f.Cell))
	for j := cj - reach; j <= cj+reach; j++ {
		for i := ci - reach; i <= ci+reach; i++ {
			b, ok := at(i, j)
			if !ok {
				continue
			}
			px, py := f.At(i, j)
			try(px, py, b)
			for _, d := range [2][2]int{{1, 0}, {0, 1}} {
				a, okA := at(i-d[0], j-d[1])
				c, okC := at(i+d[0], j+d[1])
				e, okE := at(i+2*d[0], j+2*d[1])
				if !okA || !okC || !okE || (b-a)+(c-e) <= leastKink {
					continue
				}
				// Where do the line through a, b and the line through c, e meet?
				s := (c - b + c - e) / (b - a + c - e)
				if s <= 0 || s >= 1 {
					continue
				}
				kx, ky := px+s*f.Cell*float64(d[0]), py+s*f.Cell*float64(d[1])
				try(kx, ky, min(b+s*(b-a), stock(kx, ky)))
			}
		}
	}
	return best
}

// apart returns the greatest distance of the prediction from its twin, and where.
func apart(t interface{ Fatal(...any) }, w *Work, every bool) (worst float64, where string) {
	m, err := newTask(context.Background(), w, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	p, err := m.alone(context.Background(), ByGuide)
	if err != nil {
		t.Fatal(err)
	}
	for i, tips := range twin(t, w, m, every) {
		for j, want := range tips {
			if d := math.Abs(float64(p.tip[p.start[i]+j]) - want); d > worst {
				s := m.spots(nil, i)[j]
				worst, where = d, fmt.Sprintf("cut %d, place %d, at (%v, %v): tip at %v, plainly %v", i+1, j, s.x, s.y, p.tip[p.start[i]+j], want)
			}
		}
	}
	return worst, where
}

// Looking only where it may matter changes nothing, on random jobs: the rest is
// the rounding of heights. The planes that stand in for the flanks of a ring are
// within surface.PlaneTolerance, 0.1 µm, of them, and are split differently in
// stock of another height: that much is allowed on a rose engine.
func TestGuideIsTheTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWork(t)
		tolerance := 1e-5
		if w.List.Cuts[0].Pieces[0].Closed {
			tolerance = 5e-5 + 2*surface.PlaneTolerance // one field may lie above, the other below
		}
		if d, where := apart(t, w, false); d > tolerance {
			t.Fatalf("%s (%.3g µm apart)", where, 1000*d)
		}
	})
}

// With every place in the paths, none left out as near enough to a straight line,
// the prediction stands to 0.05 µm, even where each cut follows the last one's
// ground and sinks.
func TestEveryPlace(t *testing.T) {
	for _, stock := range []*Stock{nil, twinStocks()[3]} {
		for _, side := range []Side{Left, Right} {
			w := dial(sunburst(90, 3, 4, 2*math.Pi/90)[:9], side)
			w.Blank.Outline.Diameter = 12
			w.Guide.Offset, w.Guide.FootRadius = 0.4, 0.4
			w.Stock, w.Cell, w.Pitch = stock, 0.01, 0.02
			if d, where := apart(t, w, true); d > 5e-5 {
				t.Errorf("%v: %s (%.3g µm apart)", side, where, 1000*d)
			}
		}
	}
}

// The heights of a path stay within HeightError of those at every place.
func TestBend(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 200).Draw(t, "n")
		step := rapid.Float64Range(0, 3e-5).Draw(t, "step")
		spots, tips := make([]spot, n), make([]float32, n)
		z, slope := -0.045, 0.0
		for i := range n {
			spots[i].reading = 0.02 * float64(i)
			slope += step * rapid.Float64Range(-1, 1).Draw(t, "bend")
			z += slope
			tips[i] = float32(z)
		}
		bends := bend(nil, spots, tips)
		if bends[0] != 0 || bends[len(bends)-1] != n-1 {
			t.Fatalf("the ends are missing: %v", bends)
		}
		for k := 1; k < len(bends); k++ {
			a, b := bends[k-1], bends[k]
			if a >= b {
				t.Fatalf("not in order: %v", bends)
			}
			for i := a; i <= b; i++ {
				h := mix(float64(tips[a]), float64(tips[b]), float64(i-a)/float64(b-a))
				if math.Abs(h-float64(tips[i])) > HeightError+1e-8 {
					t.Fatalf("place %d stands %v off the line from %d to %d", i, h-float64(tips[i]), a, b)
				}
			}
		}
	})
}

// The stock by straight lines over tiles of ten-micron cells is the form to within
// 0.02 µm, on bow and bump.
func TestStockBetweenTiles(t *testing.T) {
	for _, s := range twinStocks()[1:] {
		g := surface.Grid{X0: -5, Y0: -5, Cell: DefaultCell, Nx: 1000, Ny: 1000}
		l, err := newLattice(context.Background(), s, g, 0.8)
		if err != nil {
			t.Fatal(err)
		}
		for k := range 5000 {
			x, y := math.Mod(float64(k)*0.7548776662, 1)*999, math.Mod(float64(k)*0.5698402910, 1)*999
			want, _, _ := s.Height(r2.Vec{X: g.X0 + x*g.Cell, Y: g.Y0 + y*g.Cell})
			if got := l.at(x, y); math.Abs(got-want) > 2e-5 {
				t.Fatalf("stock at cell (%v, %v): %v, the form is at %v", x, y, got, want)
			}
			// The bound on the slope holds to any other place in reach.
			u, v := x+80*math.Sin(float64(k)), y+80*math.Cos(float64(k))
			if d := math.Abs(l.at(u, v) - l.at(x, y)); u > 0 && v > 0 && u < 999 && v < 999 && d > l.slope(x, y)*80+1e-9 {
				t.Fatalf("the stock rises by %v over 80 cells, the bound is %v", d, l.slope(x, y)*80)
			}
		}
	}
}
