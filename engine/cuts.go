package engine

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"brightcut/bar"
	"brightcut/fault"
)

// Cuts works the sequence on the engine and returns the cuts, each clipped to
// the field, with what was found on the way.
//
// The error is ctx's own, or a fault.List of everything that keeps the piece from
// being cut as written: faults of the set-up have Field alone, those of the
// sequence the Origin of their item as well. The list is the same on any number
// of cores.
func (s *Setup) Cuts(ctx context.Context) (*List, error) {
	if err := s.sound().Err(); err != nil {
		return nil, err
	}
	p := s.program()
	if len(p.faults) > 0 {
		return nil, p.faults
	}
	r, err := p.run(ctx)
	if err != nil {
		return nil, fmt.Errorf("engine: working the sequence: %w", err)
	}
	if len(p.faults) > 0 { // wishes that a bar put on later cannot meet
		return nil, p.faults
	}
	w, faults := newWork(s, p, r)
	if len(faults) > 0 {
		return nil, append(r.strayFaults(), faults...)
	}
	if err := w.clip(ctx); err != nil {
		return nil, fmt.Errorf("engine: clipping the cuts to the field: %w", err)
	}
	if faults := append(r.strayFaults(), w.faults()...); len(faults) > 0 {
		return nil, faults
	}
	if err := w.trace(ctx); err != nil {
		return nil, fmt.Errorf("engine: tracing the cuts: %w", err)
	}
	l := &List{Cuts: r.cuts, Circle: p.shownCircle(), SecondsPerStroke: s.Engine.SecondsPerStroke}
	if after := r.after(); len(after) > 0 {
		l.After = after
	}
	l.Closures = p.closures(l)
	l.Warnings = w.warnings(l)
	return l, nil
}

// sound gathers the faults of the set-up and of its parts. A job has asked for
// them already; another caller may not have.
func (s *Setup) sound() fault.List {
	l := s.Check()
	for _, f := range s.Blank.Check() {
		f.Field = "blank." + f.Field
		l = append(l, f)
	}
	for _, f := range s.Cutter.Check() {
		f.Field = "cutter." + f.Field
		l = append(l, f)
	}
	return l
}

// work is the cuts of a run on their way from settings to paths.
type work struct {
	setup   *Setup
	run     *runner
	chord   float64
	motions map[string]*motion
	paths   map[string]*bar.Path
	cos     map[string][]float64 // of a rose engine's cells
	sin     map[string][]float64
	rings   map[ring][]int32
	spans   [][]span // of each cut
	short   []fate   // of each cut
	over    bool     // more vertices than MaxVertices
}

// ring is what the chords of a ring depend on.
type ring struct {
	bar   string
	slide int
}

// fate is what befell a cut in clipping.
type fate uint8

const (
	offField  fate = 1 << iota // nothing of it is in the field
	barEnds                    // the bar ends while the cutter is in the field
	strokeEnd                  // the stroke ends while the cutter is in the field
	noRadius                   // a ring without a radius
	through                    // pumped through the blank
)

// newWork follows the bars and takes their motions apart.
func newWork(s *Setup, p *program, r *runner) (*work, fault.List) {
	w := &work{setup: s, run: r, chord: s.chord(), motions: map[string]*motion{}, paths: map[string]*bar.Path{}}
	var faults fault.List
	field := p.barWord()
	follow := func(field, name string) *bar.Path {
		path, err := bar.Follow(s.Bars[name], s.Touch)
		if err != nil {
			faults = append(faults, barFaults(field, name, err)...)
			return nil
		}
		w.paths[name] = path
		return path
	}
	var pump *bar.Path
	if s.Pump != "" {
		pump = follow("pumping_rosette", s.Pump)
	}
	for _, name := range p.names {
		if problem, mend := s.barFault(s.Bars[name]); problem != "" {
			faults = append(faults, fault.Fault{Field: field, Problem: fmt.Sprintf("%q %s", name, problem), Mend: mend})
			continue
		}
		if w.paths[name] == nil {
			follow(field, name)
		}
	}
	if len(faults) > 0 {
		return nil, faults
	}
	names := p.names
	if s.Bar == "" {
		names = append([]string{""}, names...)
	}
	for _, name := range names {
		path := w.paths[name]
		if s.Engine.Kind == StraightLine {
			w.motions[name] = newMotion(s.Bars[name], path, nil, s.Engine.Lever, 0, 0, w.chord)
			continue
		}
		widest := 0.0
		for i := range r.cuts {
			if r.cuts[i].Settings.Bar == name && !r.bad[i] {
				widest = max(widest, r.cuts[i].Position)
			}
		}
		w.motions[name] = newMotion(s.Bars[name], path, pump, s.Engine.Rocking, s.Engine.Pumping, max(widest, 1), w.chord)
	}
	return w, nil
}

// chord returns the chord error to keep.
func (s *Setup) chord() float64 {
	if !(s.Chord > 0) {
		return DefaultChord
	}
	return min(max(s.Chord, finestChord), 1)
}

// barFaults puts the faults of following a bar under the set-up's own fields.
func barFaults(field, name string, err error) fault.List {
	var list fault.List
	if !errors.As(err, &list) {
		return fault.List{{Field: field, Problem: fmt.Sprintf("%q: %v", name, err)}}
	}
	for i := range list {
		if f := list[i].Field; f != "touchpiece" && f != "rubber" {
			list[i].Field = field
			list[i].Problem = fmt.Sprintf("%q, %s: %s", name, f, list[i].Problem)
		}
	}
	return list
}

// each calls do for 0 to n−1 on all cores. do must touch only what is its own.
func each(ctx context.Context, n int, do func(i int) error) error {
	const batch = 16
	var next atomic.Int64
	var first error
	var once sync.Once
	var stop atomic.Bool
	var group sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+batch-1)/batch) {
		group.Go(func() {
			for !stop.Load() {
				from := int(next.Add(batch)) - batch
				if from >= n {
					return
				}
				err := ctx.Err()
				for i := from; i < min(from+batch, n) && err == nil; i++ {
					err = do(i)
				}
				if err != nil {
					once.Do(func() { first = err })
					stop.Store(true)
				}
			}
		})
	}
	group.Wait()
	return first
}

// limits returns the readings between which cut i may be, and what ends them.
func (w *work) limits(i int) (s span, whole bool, atFrom, atTo fate) {
	set := w.setup
	l := set.Limits
	if own := w.run.nodes[i].item.Limits; own != nil {
		l = own
	}
	if set.Engine.Kind == Rose {
		if l == nil {
			return span{0, 2 * math.Pi}, true, 0, 0
		}
		s = span{l.From, l.To}
		if s.to < s.from { // through the spindle's zero
			s.to += 2 * math.Pi * math.Ceil((s.from-s.to)/(2*math.Pi))
		}
		if s.to-s.from > 2*math.Pi-1e-9 {
			return span{s.from, s.from + 2*math.Pi}, true, 0, 0
		}
		return s, false, 0, 0
	}
	if l != nil {
		s = span{l.From, l.To}
	} else {
		s, atFrom, atTo = span{set.Engine.StrokeMin, set.Engine.StrokeMax}, strokeEnd, strokeEnd
	}
	c := &w.run.cuts[i]
	m := w.motions[c.Settings.Bar]
	if low := m.low - c.Phase; low > s.from+1e-9 {
		s.from, atFrom = low, barEnds
	}
	if high := m.high - c.Phase; high < s.to-1e-9 {
		s.to, atTo = high, barEnds
	}
	return s, false, atFrom, atTo
}

// clip finds the stretches of every cut that are in the field.
func (w *work) clip(ctx context.Context) error {
	field := w.setup.Blank.Field()
	n := len(w.run.cuts)
	w.spans, w.short = make([][]span, n), make([]fate, n)
	if err := w.ringChords(ctx); err != nil {
		return err
	}
	var vertices atomic.Int64
	err := each(ctx, n, func(i int) error {
		if w.run.bad[i] || w.over {
			return nil
		}
		c := &w.run.cuts[i]
		s, whole, atFrom, atTo := w.limits(i)
		t := w.tip(c)
		if t.rose && t.position+t.motion.foot <= 0 {
			w.short[i] = noRadius
			return nil
		}
		if c.Depth-t.motion.lowest >= w.setup.Blank.Thickness {
			w.short[i] = through
			return nil
		}
		if s.from >= s.to { // the bar is elsewhere
			w.short[i] = barEnds
			return nil
		}
		spans, err := clip(ctx, s.from, s.to, t.speed(), func(r float64) float64 { return field.Distance(t.plan(r)) })
		if err != nil {
			return err
		}
		if len(spans) == 0 {
			w.short[i] = offField
			return nil
		}
		if spans[0].from == s.from {
			w.short[i] |= atFrom
		}
		if spans[len(spans)-1].to == s.to {
			w.short[i] |= atTo
		}
		if last := len(spans) - 1; whole && last > 0 && spans[0].from == s.from && spans[last].to == s.to {
			spans[last].to = spans[0].to + 2*math.Pi
			spans = spans[1:]
		}
		w.spans[i] = spans
		for _, s := range spans {
			vertices.Add(int64(t.count(s)))
		}
		return nil
	})
	w.over = w.over || vertices.Load() > MaxVertices
	return err
}

// ringChords finds the chords of every ring that differs from the others.
func (w *work) ringChords(ctx context.Context) error {
	if w.setup.Engine.Kind != Rose {
		return nil
	}
	w.cos, w.sin = map[string][]float64{}, map[string][]float64{}
	for name, m := range w.motions {
		cos, sin := make([]float64, len(m.at)), make([]float64, len(m.at))
		for i, u := range m.at {
			sin[i], cos[i] = math.Sincos(u)
		}
		w.cos[name], w.sin[name] = cos, sin
	}
	w.rings = map[ring][]int32{}
	var keys []ring
	var positions []float64
	for i := range w.run.cuts {
		c := &w.run.cuts[i]
		k := ring{c.Settings.Bar, c.Settings.Slide}
		if _, ok := w.rings[k]; ok || w.run.bad[i] || c.Position+c.Stray.Position+w.motions[k.bar].foot <= 0 {
			continue
		}
		w.rings[k] = nil
		keys, positions = append(keys, k), append(positions, c.Position+c.Stray.Position)
	}
	knots := make([][]int32, len(keys))
	var total atomic.Int64
	err := each(ctx, len(keys), func(i int) error {
		if total.Load() > MaxVertices {
			return nil
		}
		k := keys[i]
		knots[i] = w.motions[k.bar].ring(positions[i], w.cos[k.bar], w.sin[k.bar], w.chord)
		total.Add(int64(len(knots[i])))
		return nil
	})
	w.over = total.Load() > MaxVertices
	for i, k := range keys {
		w.rings[k] = knots[i]
	}
	return err
}

// tip returns the way of a cut's tip.
func (w *work) tip(c *Cut) tip {
	m := w.motions[c.Settings.Bar]
	knots := m.knots
	if w.setup.Engine.Kind == Rose {
		knots = w.rings[ring{c.Settings.Bar, c.Settings.Slide}]
	}
	return w.setup.tip(c, m, knots)
}

// trace writes the paths of all cuts into one stretch of memory.
func (w *work) trace(ctx context.Context) error {
	cuts := w.run.cuts
	begin := make([]int, len(cuts)+1)
	for i := range cuts {
		t := w.tip(&cuts[i])
		begin[i+1] = begin[i]
		for _, s := range w.spans[i] {
			begin[i+1] += t.count(s)
		}
	}
	all := begin[len(cuts)]
	vertices, readings := make([]Vertex, all), make([]float64, all)
	return each(ctx, len(cuts), func(i int) error {
		t := w.tip(&cuts[i])
		cuts[i].Pieces = make([]Piece, len(w.spans[i]))
		at := begin[i]
		for k, s := range w.spans[i] {
			n := at + t.count(s)
			p := &cuts[i].Pieces[k]
			*p = Piece{
				Start: s.from, Stop: s.to,
				Closed: t.rose && s.to-s.from > 2*math.Pi-1e-12,
				Path:   vertices[at:n:n], Readings: readings[at:n:n],
			}
			t.trace(s, p.Closed, p.Path, p.Readings)
			at = n
		}
		return nil
	})
}
